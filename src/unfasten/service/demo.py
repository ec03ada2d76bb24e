"""The main job on the shipped records: into a workspace, then routes, index and report of each."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Final

from unfasten.service.workspace import Workspace, open_workspace

if TYPE_CHECKING:
    from unfasten.record.record import Record
    from unfasten.routes.result import Reach, Route
    from unfasten.rules.assessment import Assessment

#: what is told of each record, in this order
STAGES: Final = ("reading and storing", "finding routes", "computing the index", "writing the report")
Tell = Callable[[str, str, int, int], None]


@dataclass(frozen=True, slots=True)
class PartLine:
    """A part with its reach. `off`: other parts taken off before it, on the low and on the high route."""

    part: str
    name: str
    is_priority: bool
    reach: Reach
    off: tuple[int, int | None] | None


@dataclass(frozen=True, slots=True)
class Outcome:
    """What the demo found of one record and where it wrote the report; `is_new`: the ledger got an entry."""

    record: Record
    lines: tuple[PartLine, ...]
    assessment: Assessment
    html: Path
    pdf: Path
    is_new: bool


def run_demo(folder: Path, files: Sequence[Path], on: date, at: datetime, tell: Tell) -> Iterator[Outcome]:
    """Do the main job on each record of `files` in the workspace `folder`, oldest product first.

    `on` is the day of the rules and the report, `at` the time of the ledger's entries. `tell` hears the product's
    name, the stage that begins, how many stages are done and how many there are. Running it again adds nothing to the
    ledger and writes the same reports over. Raises `CallError` where the folder cannot be used, and `DataError` for a
    record or ledger with errors.
    """
    from unfasten.service.load import load_record

    records = sorted((load_record(path) for path in files), key=_age)
    total = len(records) * len(STAGES)
    with open_workspace(folder, at) as workspace:
        for place, record in enumerate(records):

            def tell_stage(stage: int, name: str = record.product.name, done: int = place * len(STAGES)) -> None:
                tell(name, STAGES[stage], done + stage, total)

            yield _run(workspace, record, on, at, tell_stage)


def _age(record: Record) -> tuple[date, str]:
    return record.product.released or date.max, record.product.id


def _run(workspace: Workspace, given: Record, on: date, at: datetime, tell_stage: Callable[[int], None]) -> Outcome:
    from unfasten.service.assess import assess
    from unfasten.service.report import write_report
    from unfasten.service.routes import reach_of

    tell_stage(0)
    is_new = workspace.put(given, at)
    record = workspace.record(given.product.id)
    tell_stage(1)
    reaches = reach_of(record)
    tell_stage(2)
    assessment = assess(record, reaches, on)
    tell_stage(3)
    html, pdf = write_report(record, workspace.reports, on, reaches, assessment)
    return Outcome(record, part_lines(record, reaches, assessment), assessment, html, pdf, is_new)


def part_lines(record: Record, reaches: dict[str, Reach], assessment: Assessment) -> tuple[PartLine, ...]:
    """Give a line for every part: the priority parts of the rules first, each group from the shallowest down."""
    priority = {part for scored in assessment.parts for part in scored.parts}
    lines = [
        PartLine(part, record.parts[part].name, part in priority, reach, _off(record, reach))
        for part, reach in reaches.items()
    ]
    return tuple(sorted(lines, key=_order))


def _order(line: PartLine) -> tuple[bool, float, float, str]:
    low, high = (float("inf") if steps is None else steps for steps in (line.reach.steps_low, line.reach.steps_high))
    return not line.is_priority, low, high, line.name


def _off(record: Record, reach: Reach) -> tuple[int, int | None] | None:
    if reach.low is None:
        return None
    return parts_off(record, reach.low), None if reach.high is None else parts_off(record, reach.high)


def parts_off(record: Record, route: Route) -> int:
    """Count the other parts that a route takes off, alone or in a bundle."""
    off: set[str] = set()
    for action in route.actions:
        if action.do == "lift":
            off |= {*record.bundles[action.bundle].parts} if action.bundle else {action.part or ""}
    return len(off - {route.target})
