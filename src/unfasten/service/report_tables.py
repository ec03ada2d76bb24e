"""Fastener chart, tools, battery data and log of a report."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from decimal import Decimal

from unfasten.evidence.quantity import Quantity
from unfasten.record.log import Found, Lifted, LogEntry, Note, Pause, Released, Swung
from unfasten.record.part import Battery
from unfasten.record.record import Record
from unfasten.report.model.span import Caution, Fact
from unfasten.report.model.tables import BatterySheet, FastenerGroup, FastenerRow, LogRow, ToolRow, ToolTable
from unfasten.routes.result import Reach, Route
from unfasten.service.cautions import battery_parts, product_cautions, stop_of
from unfasten.service.report_operations import as_caution
from unfasten.service.report_routes import tools_in_order
from unfasten.service.report_words import (
    NOT_KNOWN,
    REUSE,
    TOOL_CLASSES,
    clean,
    joint_name,
    listing,
    origin_of,
    part_name,
    quantity,
    seconds,
    tool_name,
    words,
)

KINDS = ("screw", "clip", "adhesive", "tape", "connector", "press-fit", "magnet", "solder", "weld", "other")


def fasteners(record: Record) -> tuple[FastenerGroup, ...]:
    """Give the fastener chart, one group per kind, alike joints next to each other."""
    groups = []
    for kind in KINDS:
        rows = [_fastener(record, name) for name, joint in record.joints.items() if joint.kind == kind]
        if rows:
            rows.sort(key=lambda row: (row.drive, row.thread, row.length))
            groups.append(FastenerGroup(words(kind), sum(row.count for row in rows), tuple(rows)))
    return tuple(groups)


def _fastener(record: Record, name: str) -> FastenerRow:
    joint = record.joints[name]
    holds = listing([part_name(record, part) for part in joint.holds])
    return FastenerRow(
        joint=name,
        name=joint_name(record, name),
        drive=clean(joint.drive, 60),
        thread=clean(joint.thread, 60),
        length=str(joint.length) if joint.length else "",
        count=joint.count,
        where="; ".join(text for text in (holds, clean(joint.where, 120)) if text),
        reuse=REUSE[joint.reuse] if joint.reuse else NOT_KNOWN,
    )


def tools(record: Record, reaches: Mapping[str, Reach]) -> ToolTable:
    """Give the tools that the routes to the priority parts need; a tool of one bound only stands in brackets."""
    wanted = [name for name in reaches if record.parts[name].role not in (None, "other")]
    needs = {name: (_tools(reaches[name].low), _tools(reaches[name].high)) for name in wanted}
    rows = []
    for tool, data in record.tools.items():
        marks = tuple(_mark(tool, reaches[name], *needs[name]) for name in wanted)
        if any(marks):
            tool_class = TOOL_CLASSES[data.tool_class] if data.tool_class else NOT_KNOWN
            rows.append(ToolRow(tool, tool_name(record, tool), tool_class, marks))
    return ToolTable(tuple(part_name(record, name) for name in wanted), tuple(rows))


def _tools(route: Route | None) -> frozenset[str]:
    return frozenset(tools_in_order(route.actions)) if route else frozenset()


def _mark(tool: str, reach: Reach, low: frozenset[str], high: frozenset[str]) -> str:
    if reach.high is None:
        return "(x)" if tool in low else ""
    if tool in low and tool in high:
        return "x"
    return "(x)" if tool in low | high else ""


def batteries(record: Record) -> tuple[BatterySheet, ...]:
    """Give the data of every battery with the cautions that go with it."""
    stop = stop_of(record)
    cautions: tuple[Caution, ...] = (as_caution(stop),) if stop else ()
    cautions += tuple(as_caution(care) for care in product_cautions(record) if care.id.startswith("lithium"))
    return tuple(
        BatterySheet(part_name(record, name), _battery_facts(record.parts[name].battery or Battery()), cautions)
        for name in battery_parts(record)
    )


def _battery_facts(battery: Battery) -> tuple[Fact, ...]:
    size = " × ".join(str(length) for length in battery.size) if battery.size else NOT_KNOWN
    cells = str(battery.cells_in_series) if battery.cells_in_series else NOT_KNOWN
    return (
        _fact("Designation", clean(battery.designation, 80) or NOT_KNOWN, "seen"),
        _measure("Nominal voltage", battery.nominal_voltage),
        _measure("Charge voltage", battery.charge_voltage),
        _measure("Rated capacity", battery.rated_capacity),
        _measure("Marked energy", battery.marked_energy),
        Fact("Energy from nominal voltage × rated capacity", *_energy(battery)),
        _fact("Cells in series", cells, "seen"),
        _fact("Size", size, "measured" if battery.size and battery.size[0].u is not None else "seen"),
        _fact("Enclosure", battery.enclosure or NOT_KNOWN, "seen"),
        _fact("Condition", battery.condition or NOT_KNOWN, "seen"),
    )


def _fact(label: str, value: str, origin: str) -> Fact:
    return Fact(label, value, "" if value == NOT_KNOWN else origin)


def _measure(label: str, value: Quantity | None) -> Fact:
    return Fact(label, quantity(value), origin_of(value, "seen"))


def _energy(battery: Battery) -> tuple[str, str]:
    """Energy in Wh from the nominal, never the charge voltage, and whether the mark agrees to within 1 %."""
    if battery.nominal_voltage is None or battery.rated_capacity is None:
        return NOT_KNOWN, ""
    energy = battery.nominal_voltage.si * battery.rated_capacity.si / 1000
    text = f"{energy.quantize(Decimal('0.01'))} Wh"
    if battery.marked_energy is not None:
        off = abs(energy - battery.marked_energy.si) > battery.marked_energy.si / 100
        text += " (differs from the mark by more than 1 %)" if off else " (agrees with the mark to 1 %)"
    return text, "computed"


def log_rows(record: Record) -> tuple[LogRow, ...]:
    """Give the log of the bench, in order."""
    return tuple(_log_row(record, entry) for entry in record.log)


def _log_row(record: Record, entry: LogEntry) -> LogRow:
    do, what = _log_words(record, entry)
    took = str(seconds(entry.took.si)) if entry.took else ""
    return LogRow(entry.at or "", do, what, took, clean(entry.photo, 40), clean(entry.by, 40))


def _log_words(record: Record, entry: LogEntry) -> tuple[str, str]:
    if isinstance(entry, Released):
        return "undo", joint_name(record, entry.joint)
    if isinstance(entry, Lifted):
        bundle = record.bundles[entry.bundle].name or words(entry.bundle) if entry.bundle else None
        return "lift out", clean(bundle, 80) if bundle else part_name(record, entry.part or "")
    if isinstance(entry, Swung):
        return "swing aside", part_name(record, record.swings[entry.swing].part)
    if isinstance(entry, Found):
        return "found", _found(record, entry)
    assert isinstance(entry, Note | Pause)
    return entry.do, clean(entry.text)


def _found(record: Record, entry: Found) -> str:
    about = joint_name(record, entry.joint) if entry.joint else words(entry.part or entry.bundle or "")
    covers = [_any_of(record, clause) for clause in (*entry.under, *entry.behind)]
    said = [f"covered by {listing(covers)}"] if covers else []
    said += [f"clear of {listing([part_name(record, part) for part in entry.clear_of])}"] if entry.clear_of else []
    return f"{about}: {'; '.join([*said, clean(entry.text)] if entry.text else said)}"


def _any_of(record: Record, clause: Iterable[str]) -> str:
    return " or ".join(part_name(record, part) for part in clause)
