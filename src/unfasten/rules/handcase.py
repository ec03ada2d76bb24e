"""A case made by hand from plain data, for check values: no solver, no file.

    category: slate-tablet
    parts: {battery: {reuse: resupplied, tool: basic, heat: false, environment: use, skill: layman, pairing: []}}
    supply: {...}
    tests: {...}

Of a part, `reuse` and `tool` are those of its only way out; null is not known, `tool: none` is the bare hand. `under`
names parts that must be removed first; `open` true leaves it open whether that way is the only one.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import Any

from unfasten.evidence.quantity import parse
from unfasten.record.part import Battery
from unfasten.record.product import Supply
from unfasten.record.testfigures import LabelTests
from unfasten.rules.case import Allowed, Case, Passage, Subject
from unfasten.rules.verdict import Look

BARE_HAND = "none"


def hand_case(given: Mapping[str, Any]) -> Case:
    """Make the case."""
    parts: Mapping[str, Mapping[str, Any]] = given.get("parts", {})
    subjects = tuple(_subject(name, told) for name, told in parts.items())

    def passage(part: str, allowed: Allowed) -> Passage:
        return _passage(part, parts[part], allowed)

    battery = given.get("battery")
    return Case(
        given["category"],
        subjects,
        Supply.model_validate(given.get("supply", {})),
        LabelTests.model_validate(given.get("tests", {})),
        Battery.model_validate(battery) if battery is not None else None,
        (("parts.battery.mass", parse(given["mass"], "mass")),) if "mass" in given else (),
        passage,
        date.fromisoformat(given["released"]) if "released" in given else None,
    )


def _subject(name: str, told: Mapping[str, Any]) -> Subject:
    pairing = told.get("pairing")
    return Subject(
        name,
        name,
        name,
        None if pairing is None else tuple(pairing),
        "seen",
        tuple(told.get("cells", {}).items()),
        told.get("environment"),
        told.get("skill"),
    )


def _passage(part: str, told: Mapping[str, Any], allowed: Allowed) -> Passage:
    reuse, tool = told.get("reuse", "reusable"), told.get("tool", BARE_HAND)
    faults = [f"{part} lies under {other}" for other in told.get("under", ()) if other in allowed.without]
    open_ = [Look("are there other ways out?", f"parts.{part}")] if told.get("open") else []
    if allowed.reuse is not None and reuse is None:
        open_.append(Look("what becomes of its joint?", f"parts.{part}"))
    elif allowed.reuse is not None and reuse not in allowed.reuse:
        faults.append(f"{part} is {reuse}")
    if tool is None or tool in allowed.doubtful:
        open_.append(Look("of which class is its tool?", f"parts.{part}"))
    elif tool not in (BARE_HAND, *allowed.tools):
        faults.append(f"{part} needs a {tool} tool")
    faults += [f"{part} needs {what}" for what in ("heat", "solvent") if told.get(what) and not getattr(allowed, what)]
    possible = not faults or bool(told.get("open"))
    return Passage(not faults and not open_, possible, tuple(faults), tuple(open_))
