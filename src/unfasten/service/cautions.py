"""Cautions that a record implies: read from data, chosen by what the record says, and never left out of a procedure."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from importlib import resources
from pathlib import Path
from types import MappingProxyType
from typing import Final

from unfasten.evidence.datafile import load_data
from unfasten.record.record import Record
from unfasten.routes.result import Action

#: hazards that are there as soon as the product is open, wherever the route leads
ALWAYS: Final = frozenset({"mains", "charged-capacitor", "laser"})
#: roles whose part may be glass, whether or not the record says so
MAYBE_GLASS: Final = frozenset({"display-assembly", "back-cover"})
STOPS: Final = MappingProxyType({"swollen": "swollen-battery", "damaged": "damaged-battery"})
FILE: Final = "cautions.yaml"


@dataclass(frozen=True, slots=True)
class Care:
    """One caution of the data file; `source` is a published source with its mark, or `common practice`."""

    id: str
    scope: str
    title: str
    text: str
    source: str


@cache
def _data() -> tuple[str, tuple[Care, ...]]:
    tree = load_data(Path(str(resources.files("unfasten.report") / FILE)))
    return str(tree["defer"]), tuple(Care(**item) for item in tree["cautions"])


def cares() -> tuple[Care, ...]:
    """Give every caution of the data file, in the order in which they are shown."""
    return _data()[1]


def deference() -> str:
    """Give the line that defers to local rules and qualified persons."""
    return _data()[0]


def stop_of(record: Record) -> Care | None:
    """Give the notice that stops every procedure; None where no battery is recorded as swollen or damaged."""
    conditions = [part.battery.condition for part in record.parts.values() if part.battery and part.battery.condition]
    wanted = [STOPS[condition] for condition in conditions if condition in STOPS]
    return next((care for care in cares() if care.id in wanted), None)


def product_cautions(record: Record) -> tuple[Care, ...]:
    """Give the cautions that hold for the product as a whole, whatever is done to it."""
    hazards = {hazard for part in record.parts.values() for hazard in part.hazards}
    wanted = set(ALWAYS & hazards)
    if battery_parts(record):
        wanted |= {"lithium-cell", "lithium-fumes", "live-circuits"}
    return tuple(care for care in cares() if care.scope == "product" and care.id in wanted)


def route_cautions(record: Record, actions: Iterable[Action]) -> tuple[Care, ...]:
    """Give the cautions that the actions of a route meet, without those of the product as a whole."""
    wanted = {name for action in actions for name in action_cautions(record, action)}
    return tuple(care for care in cares() if care.id in wanted)


def action_cautions(record: Record, action: Action) -> tuple[str, ...]:
    """Give the ids of the cautions that one action meets, in the order in which they are shown."""
    wanted = _preparing(record, action) if action.do == "prepare" else _touching(record, action)
    return tuple(care.id for care in cares() if care.id in wanted)


def battery_parts(record: Record) -> tuple[str, ...]:
    """Give the ids of the parts that are batteries by their role or by their data."""
    return tuple(name for name, part in record.parts.items() if part.battery or part.role == "battery")


def _preparing(record: Record, action: Action) -> set[str]:
    if action.what == "clean":
        return {"solvent"}
    return {"heat", "heat-near-cell"} if battery_parts(record) else {"heat"}


def _touching(record: Record, action: Action) -> set[str]:
    parts = _parts_of(record, action)
    wanted = {str(hazard) for name in parts for hazard in record.parts[name].hazards} - ALWAYS
    if action.do == "release" and action.tools and _pried(record, action) and set(battery_parts(record)) & set(parts):
        wanted.add("pry-near-cell")
    if any(record.parts[name].role in MAYBE_GLASS for name in parts) and _forces(record, action):
        wanted.add("glass")
    return wanted


def _parts_of(record: Record, action: Action) -> tuple[str, ...]:
    if action.joint is not None:
        return tuple(name for name in record.joints[action.joint].holds if not record.parts[name].stays)
    if action.bundle is not None:
        return record.bundles[action.bundle].parts
    if action.swing is not None:
        return (record.swings[action.swing].part,)
    return (action.part or "",)


def _pried(record: Record, action: Action) -> bool:
    return record.joints[action.joint or ""].kind in ("adhesive", "tape", "clip", "press-fit")


def _forces(record: Record, action: Action) -> bool:
    return action.do != "release" or _pried(record, action)
