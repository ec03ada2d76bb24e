"""How the figures of a report were obtained: method, origin of the facts, sources, program."""

from __future__ import annotations

from collections.abc import Mapping

from unfasten import __version__
from unfasten.record.log import Released
from unfasten.record.product import TOOL_CHANGE, TURN_OVER
from unfasten.record.record import Record
from unfasten.report.model.tables import Method, OriginRow
from unfasten.routes.result import Reach
from unfasten.routes.unknown import Unknown

LINES = (
    "Order of work. The record says which joints hold each part and which parts cover each joint. What must come "
    "before what follows from that alone; the order on the bench is only one order.",
    "Steps. A sequence is cut into stretches, each ending with a part lifted or moved aside. Within a stretch, "
    "consecutive releases with the same tool set are one step, several tools used at once count one each, heating and "
    "cleaning count one each, bare-hand releases join the step they stand in.",
    "Time. Work times of the operations, plus a tool change for every tool picked up that was not in hand, plus a turn "
    "for every change of side.",
    "Low and high. Low holds if no open cover is real, high if all are. A figure is printed as one number only where "
    "the two agree. In the drawings the known part is solid and the open part is hatched.",
    "Proof. Routes are searched exactly and checked by an independent replay; proven means that none is shorter.",
    "Confidence marks of the sources in the cautions: [A] read in the source itself or in an official summary, [B] "
    "read in one secondary source only.",
)


def method(record: Record, unknown: Unknown, reaches: Mapping[str, Reach], sources: tuple[str, ...]) -> Method:
    """Give the method with the origin of each group of facts; `sources` are those of the rule set."""
    rows = (
        _joints(record),
        _covers(record, unknown),
        _work_times(record),
        _set_up(record),
        OriginRow("Steps, times and routes", "computed", _proof(reaches)),
        OriginRow(
            "Scores and index",
            "computed",
            "from the routes, the joints, the tools and the supply under the rule set named",
        ),
        OriginRow("Spare parts, updates, repair information", "claimed", "as the maker states it, as recorded"),
        OriginRow(
            "Figures printed with ±", "measured", "standard uncertainty as recorded; without ± it is not assessed"
        ),
    )
    return Method(LINES, rows, sources, f"Unfasten {__version__}")


def _joints(record: Record) -> OriginRow:
    undone = {entry.joint for entry in record.log if isinstance(entry, Released)}
    known = f"{len(undone)} of {len(record.joints)} joints were undone in the log"
    if len(undone) == len(record.joints):
        return OriginRow("Joints and what they hold", "seen", known)
    return OriginRow(
        "Joints and what they hold", "seen or assumed", f"{known}; the others are entered without a log entry"
    )


def _covers(record: Record, unknown: Unknown) -> OriginRow:
    tables = (*unknown.ways.values(), *unknown.parts.values(), *unknown.bundles.values())
    count = sum(len(parts) for parts in tables)
    if not count:
        return OriginRow("Covers", "seen", "every survey is full, no cover is open")
    return OriginRow("Covers", "seen; some open", f"{count} covers at {len(tables)} places may or may not be real")


def _work_times(record: Record) -> OriginRow:
    timed = sum(1 for entry in record.log if entry.took is not None)
    return OriginRow("Work times", "seen or assumed", f"as recorded; {timed} log entries carry an observed time")


def _set_up(record: Record) -> OriginRow:
    setup = record.setup
    default = (setup.tool_change, setup.turn_over) == (TOOL_CHANGE, TURN_OVER)
    basis = f"{setup.tool_change} per tool change, {setup.turn_over} per turn"
    return OriginRow("Set-up times", "assumed", f"{basis}{', the default of the record format' if default else ''}")


def _proof(reaches: Mapping[str, Reach]) -> str:
    routes = [route for reach in reaches.values() for route in (reach.low, reach.high) if route]
    proven = sum(route.proven for route in routes)
    return f"{proven} of {len(routes)} routes proven shortest"
