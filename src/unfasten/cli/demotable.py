"""How the demo looks on a terminal: a table per record and a summary, readable at 80 columns and without colour."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING

from rich import box
from rich.console import Group, RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from unfasten.cli.routetable import span, tools_of

if TYPE_CHECKING:
    from unfasten.evidence.interval import Interval
    from unfasten.record.record import Record
    from unfasten.routes.result import Reach
    from unfasten.service.demo import Outcome, PartLine


def record_view(outcome: Outcome) -> RenderableType:
    """Show one record: what it is, its parts with depth, time, parts off and tools, and its index."""
    product, record = outcome.record.product, outcome.record
    head = Text(f"\n{product.name}", style="bold")
    head.append(f"  {product.maker}, {product.category.replace('-', ' ')}, {product.released or 'not released'}")
    head.append(f": {len(record.parts)} parts, {len(record.joints)} joints", style="not bold")
    notes = [Text(f"{line.name}: {line.reach.reason}") for line in outcome.lines if line.reach.reason]
    tools = _numbered(outcome.lines, record)
    legend = Text("Tools ", "bold").append("   ".join(f"{number} {tool}" for tool, number in tools.items()), "not bold")
    below = Group(legend, *notes, "", *_index(outcome))
    return Group(head, _parts(outcome.lines, tools), Padding(below, (0, 0, 0, 1)))


def summary_view(outcomes: Sequence[Outcome], program: str, example: Path) -> RenderableType:
    """Show all records side by side, where the reports are, and what to try next."""
    table = Table(
        box=box.SIMPLE_HEAD, title="Repair index, Regulation (EU) 2023/1669", title_justify="left", padding=(0, 1)
    )
    for heading in ("Record", "Index", "Class", "Report"):
        table.add_column(heading, no_wrap=heading != "Report", overflow="fold")
    for outcome in outcomes:
        index, grade = figures(outcome)
        table.add_row(
            Text(outcome.record.product.name, "bold"), index, grade, f"{near(outcome.html)}\n{near(outcome.pdf)}"
        )
    shown = near(example)
    before, workspace = near(example.with_name("tarn-9.yaml")), near(outcomes[0].html.parent.parent)
    tries = [f"routes {shown} --to battery", f"compare {before} {shown}", f"serve -w {workspace}", "verify"]
    lines = Text("\n".join(f"{program} {one}" for one in tries))
    return Group("", table, Text("Go on with", "bold"), Padding(lines, (0, 0, 0, 2)))


def figures(outcome: Outcome) -> tuple[str, str]:
    """Index and class of an outcome as text; `-` where there is none."""
    points, grade = outcome.assessment.points, outcome.assessment.grade
    if points is None or grade is None:
        return "-", "-"
    letters = grade.as_json()
    return _range(*_ends(points)), _range(str(letters["low"]), str(letters["high"]))


def near(path: Path) -> str:
    """Path as seen from the current folder, where it lies below it."""
    absolute, here = path.absolute(), Path.cwd()
    return str(absolute.relative_to(here)) if absolute.is_relative_to(here) else str(path)


def clock(seconds: Fraction) -> str:
    """Write a time as minutes and seconds, rounded to the second [m:ss]."""
    whole = int(seconds + Fraction(1, 2))
    return f"{whole // 60}:{whole % 60:02d}"


def _parts(lines: Sequence[PartLine], tools: Mapping[str, int]) -> Table:
    table = Table(box=box.SIMPLE_HEAD, padding=(0, 1), caption_justify="left", caption_style="")
    table.caption = " * priority part    low-high where a cover is not known for sure"
    table.add_column("Part", min_width=30, overflow="fold")
    for heading in ("Steps", "Time", "Parts off"):
        table.add_column(heading, justify="right", no_wrap=True)
    table.add_column("Tools", overflow="fold")
    for line, following in zip(lines, [*lines[1:], None], strict=True):
        ends = following is not None and line.is_priority and not following.is_priority
        table.add_row(*_cells(line, len(lines), tools), style="bold" if line.is_priority else "", end_section=ends)
    return table


def _cells(line: PartLine, parts: int, tools: Mapping[str, int]) -> tuple[str, ...]:
    name = f"{'*' if line.is_priority else ' '} {line.name}"
    low = line.reach.steps_low
    if low is None or line.off is None:
        return name, "-", "-", "-", "not reachable"
    off = f"{span(line.off[0], line.off[1])} of {parts - 1}"
    used = " ".join(str(tools[tool]) for tool in tools_of(line.reach))
    return name, span(low, line.reach.steps_high), _times(line.reach), off, used or "by hand"


def _numbered(lines: Sequence[PartLine], record: Record) -> dict[str, int]:
    """Number the tools in use, in the record's order."""
    used = {tool for line in lines for tool in tools_of(line.reach)}
    return {tool: number for number, tool in enumerate((name for name in record.tools if name in used), 1)}


def _times(reach: Reach) -> str:
    times = sorted(route.time for route in (reach.low, reach.high) if route is not None)
    text = _range(clock(times[0]), clock(times[-1]))
    return text if reach.high is not None else f"{text}-?"


def _index(outcome: Outcome) -> list[Text]:
    assessment = outcome.assessment
    index, grade = figures(outcome)
    if assessment.points is None:
        return [Text(f"No index: {assessment.reason}")]
    known = [(name, node.interval) for name, node in assessment.scores.items() if node.interval is not None]
    scores = [f"{name} {_range(*_ends(interval))}".ljust(18) for name, interval in known]
    lines = [Text("Index ", "bold").append(f"{index}, class {grade}")]
    lines += [Text("".join(scores[start : start + 4]).rstrip()) for start in range(0, len(scores), 4)]
    if assessment.open:
        count = len(assessment.open)
        lines.append(Text(f"{count} fact{'s' if count > 1 else ''} open: see the report"))
    return lines


def _ends(interval: Interval) -> tuple[str, str]:
    ends = interval.as_json()
    return str(ends["low"]), str(ends["high"])


def _range(low: str, high: str) -> str:
    return low if low == high else f"{low}-{high}"
