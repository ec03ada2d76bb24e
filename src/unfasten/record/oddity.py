"""What is odd in a valid record: possible, but more likely a slip."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from decimal import Decimal
from typing import Final

from unfasten.evidence.place import Path, listed, shown
from unfasten.record.fold import fold_log, lift_of
from unfasten.record.log import Found
from unfasten.record.part import Battery, Lift
from unfasten.record.place import Remark
from unfasten.record.record import Record
from unfasten.record.suggest import remedy
from unfasten.record.types import Cover

SIDES: Final = ("front", "back", "left", "right", "top", "bottom", "any")
#: marked energy may differ from voltage times capacity by this much (our own figure: labels round all three) [1]
ENERGY_TOLERANCE: Final = Decimal("0.02")


def oddity_remarks(record: Record) -> Iterator[Remark]:
    """Yield a remark for each thing that looks like a slip."""
    for name, joint in record.joints.items():
        if len(set(joint.holds)) == 1:
            message = f"the joint holds {shown(joint.holds[0])} only"
            yield Remark(("joints", name, "holds"), "record.holds-one", message, "name what it is fixed to as well")
    yield from _covers_itself(record)
    yield from _sides(record)
    yield from _clear_covers(record)
    for name, part in record.parts.items():
        if part.battery is not None:
            yield from _energy(("parts", name, "battery"), part.battery)
    for name, swing in record.swings.items():
        if swing.lift.survey == "partial" or swing.lift.clear_of:
            message = "a swing has no unknown covers, so its survey is not used"
            yield Remark(("swings", name, "lift"), "record.swing-survey", message, "delete 'survey' and 'clear_of'")


def _lifts(record: Record) -> Iterator[tuple[Path, Lift, tuple[str, ...]]]:
    """Yield each lift with its path and the parts it moves."""
    for name, part in record.parts.items():
        yield ("parts", name, "lift"), lift_of(part), (name,)
    for name, bundle in record.bundles.items():
        yield ("bundles", name, "lift"), bundle.lift, bundle.parts
    for name, swing in record.swings.items():
        yield ("swings", name, "lift"), swing.lift, (swing.part,)


def _covers_itself(record: Record) -> Iterator[Remark]:
    """A joint under what it holds itself, or a lift behind what it moves itself, is never possible."""
    swingable = {
        (joint, swing.part)
        for swing in record.swings.values()
        for joint in set(swing.keeps).difference(swing.still_covers)
    }
    for name, joint in record.joints.items():
        own = {part for part in joint.holds if (name, part) not in swingable}
        for number, way in enumerate(joint.ways):
            yield from _own(("joints", name, "ways", number, "under"), way.under, own, "the joint holds it")
    for path, lift, parts in _lifts(record):
        yield from _own((*path, "behind"), lift.behind, set(parts), "it moves along")


def _own(path: Path, clauses: Iterable[Cover], own: set[str], why: str) -> Iterator[Remark]:
    for index, clause in enumerate(clauses):
        if own.issuperset(clause):
            message = f"{listed(clause)} can never be cleared here: {why}"
            yield Remark(
                (*path, index), "record.covers-itself", message, "delete it, or add a swing that keeps the joint"
            )


def _sides(record: Record) -> Iterator[Remark]:
    sided: list[tuple[Path, str]] = [
        (("joints", name, "ways", number, "side"), way.side)
        for name, joint in record.joints.items()
        for number, way in enumerate(joint.ways)
    ]
    sided += [((*path, "side"), lift.side) for path, lift, _ in _lifts(record)]
    for path, side in sided:
        if side not in SIDES:
            yield Remark(path, "record.side-unusual", f"{shown(side)} is an unusual side", remedy(side, SIDES))


def _clear_covers(record: Record) -> Iterator[Remark]:
    """A part that was found clear of a joint or lift cannot be its cover as well."""
    told: set[tuple[Path, str]] = set()
    for before, path_of in ((record, None), (fold_log(record), _found_at(record))):
        for path, both in _clashes(before):
            for name in both:
                if (path, name) not in told:
                    told.add((path, name))
                    place = path if path_of is None else path_of.get((path, name), path)
                    message = f"{shown(name)} is listed as a cover and as clear of it"
                    yield Remark(place, "record.clear-of-cover", message, "delete one of the two")


def _clashes(record: Record) -> Iterator[tuple[Path, list[str]]]:
    for name, joint in record.joints.items():
        for number, way in enumerate(joint.ways):
            yield ("joints", name, "ways", number), _both(way.under, way.clear_of)
    for path, lift, _ in _lifts(record):
        yield path, _both(lift.behind, lift.clear_of)


def _both(clauses: Iterable[Cover], clear_of: tuple[str, ...]) -> list[str]:
    covers = {cover for clause in clauses for cover in clause}
    return [name for name in dict.fromkeys(clear_of) if name in covers]


def _found_at(record: Record) -> dict[tuple[Path, str], Path]:
    """Give the entry of the log that said something of a part at a way or lift."""
    out: dict[tuple[Path, str], Path] = {}
    for index, entry in enumerate(record.log):
        if not isinstance(entry, Found):
            continue
        path: Path = ("parts", entry.part or "", "lift")
        if entry.joint is not None:
            path = ("joints", entry.joint, "ways", entry.way or 0)
        elif entry.bundle is not None:
            path = ("bundles", entry.bundle, "lift")
        covers = [cover for clause in (*entry.under, *entry.behind) for cover in clause]
        out.update({(path, name): ("log", index) for name in (*covers, *entry.clear_of)})
    return out


def _energy(path: Path, battery: Battery) -> Iterator[Remark]:
    voltage, capacity, marked = battery.nominal_voltage, battery.rated_capacity, battery.marked_energy
    if voltage is None or capacity is None or marked is None:
        return
    computed = voltage.si * capacity.si / 1000
    if abs(marked.si - computed) > ENERGY_TOLERANCE * computed:
        message = f"marked {marked}, but {voltage} × {capacity} is {computed.normalize():f} Wh"
        yield Remark(
            (*path, "marked_energy"), "record.energy-differs", message, "read the label again: all three figures"
        )
