"""The tables of a comparison: parts, depths, times, scores and exchanges, a column for each record."""

from __future__ import annotations

import math
from decimal import Decimal
from string import ascii_uppercase

from unfasten.compare.conform import Rule
from unfasten.compare.criterion import Criterion
from unfasten.compare.interchange import Interchange
from unfasten.compare.match import Row
from unfasten.compare.sides import fastening
from unfasten.evidence.interval import Interval, decimal_text
from unfasten.record.paired import paired
from unfasten.record.record import Record
from unfasten.report.model.comparison import (
    CriterionRow,
    ExchangeRow,
    FigureRow,
    FigureTable,
    PartCell,
    PartRow,
    PoolRow,
)
from unfasten.report.model.span import Span
from unfasten.routes.result import Reach
from unfasten.service.compare import Comparison
from unfasten.service.compare_routes import priority_parts
from unfasten.service.exchange import exchanges
from unfasten.service.report_words import NAME, clean, part_name, steps_span, time_span

#: most sentences of one row
_SAID = 2
#: order of the answers in the table: what can be done first
_ANSWERS = ("fits", "fits with change", "not shown", "does not fit")


def depth_table(found: Comparison) -> FigureTable:
    """Steps to every part that is a priority part in one of the records."""
    return _reach_table(found, "Steps to priority parts", "step")


def time_table(found: Comparison) -> FigureTable:
    """Time to the same parts, on the route with the fewest steps."""
    return _reach_table(found, "Time to priority parts", "s")


def _reach_table(found: Comparison, title: str, unit: str) -> FigureTable:
    rows = []
    for row in found.rows:
        reaches = [r.get(name or "") for r, name in zip(found.reaches, row.members, strict=True)]
        if _is_priority(found, row) and any(reaches):
            rows.append(FigureRow(row_name(found, row), tuple(_span(one, unit) for one in reaches)))
    ends = [end for row in rows for cell in row.cells if cell for end in (cell.low, cell.high) if end is not None]
    return FigureTable(title, unit, Decimal(0), max([*ends, Decimal(1)]), tuple(rows))


def _span(reach: Reach | None, unit: str) -> Span | None:
    if reach is None or reach.low is None:
        return None
    return steps_span(reach) if unit == "step" else time_span(reach)


def _is_priority(found: Comparison, row: Row) -> bool:
    return any(
        name is not None and name in priority_parts(record)
        for record, name in zip(found.records, row.members, strict=True)
    )


def score_table(found: Comparison) -> FigureTable:
    """Index and scores; empty where no rule set covers any of the products."""
    names = list(dict.fromkeys(name for assessment in found.assessments for name in assessment.scores))
    rows = [FigureRow("Index", tuple(_points(assessment.points) for assessment in found.assessments))]
    for name in names:
        nodes = [assessment.scores.get(name) for assessment in found.assessments]
        title = next(node.title for node in nodes if node is not None)
        rows.append(FigureRow(f"{name} {title}", tuple(_points(node.interval if node else None) for node in nodes)))
    shown = tuple(row for row in rows if any(row.cells))
    return FigureTable("Index and scores", "points", Decimal(1), Decimal(5), shown)


def _points(points: Interval | None) -> Span | None:
    return None if points is None else points_span(points)


def points_span(points: Interval) -> Span:
    """Points as printed, exact."""
    low, high = decimal_text(points.low), decimal_text(points.high)
    return Span(Decimal(low), Decimal(high), low if points.is_known else f"{low}–{high}", not points.is_known)


def part_rows(found: Comparison) -> tuple[PartRow, ...]:
    """All parts: priority parts first, then in the order of the records."""
    differs = {
        (step.after, one.about[1])
        for step in found.steps
        for one in step.differences
        if one.kind in ("hazard", "paired", "changed", "new", "moved", "split", "merged")
    }
    rows = [_part_row(found, row, differs) for row in found.rows]
    return tuple(sorted(rows, key=lambda row: not row.is_priority))


def _part_row(found: Comparison, row: Row, differs: set[tuple[int, str | None]]) -> PartRow:
    cells = []
    for number, (record, name) in enumerate(zip(found.records, row.members, strict=True)):
        changed = name is not None and (number, name) in differs
        cells.append(PartCell(name or "", _facts(record, name) if name is not None else (), changed))
    return PartRow(row_name(found, row), _is_priority(found, row), tuple(cells), ", ".join(row.reasons), row.is_weak)


def row_name(found: Comparison, row: Row) -> str:
    """Names of a part over the records."""
    names = [part_name(record, name) for record, name in zip(found.records, row.members, strict=True) if name]
    return clean(" / ".join(dict.fromkeys(names)), NAME)


def _facts(record: Record, name: str) -> tuple[str, ...]:
    part = record.parts[name]
    joints = [fastening(joint) for joint in record.joints.values() if name in joint.holds]
    lines = [" × ".join(str(edge) for edge in part.size) if part.size else "", str(part.mass) if part.mass else ""]
    if part.cable and part.cable.length:
        needed = f" for {part.cable.needed} needed" if part.cable.needed else ""
        lines.append(f"cable {part.cable.length}{needed}")
    lines.append(part.cable.connector if part.cable and part.cable.connector else "")
    lines.append(f"{len(part.holes)} holes" if part.holes else "")
    needs = paired(record, name)
    maybe = f" (perhaps {', '.join(needs.most)})" if not needs.is_known else ""
    lines.append(f"pairing: {', '.join(needs.least) or 'none'}{maybe}" if needs.most else "")
    lines.append(("held by " + "; ".join(joints)) if joints else "")
    return tuple(clean(line, 300) for line in lines if line)


def exchange_rows(found: Comparison, rule: Rule) -> tuple[tuple[ExchangeRow, ...], tuple[PoolRow, ...]]:
    """Exchanges of every part that two of the records have, what can be done first; and the pools."""
    rows, pools = [], []
    for one in exchanges(found.records, rule=rule):
        name = row_name(found, one.row)
        alike: dict[tuple[str, str, str | None], list[tuple[tuple[int, int], Interchange]]] = {}
        for way, answer in one.found.items():
            alike.setdefault((answer.answer, answer.worst.name, answer.next), []).append((way, answer))
        in_full = _is_priority(found, one.row)
        rows += [_exchange(name, group, in_full) for group in alike.values()]
        pools += [PoolRow(name, ", ".join(ascii_uppercase[number] for number in pool)) for pool in one.pools]
    order = {answer: place for place, answer in enumerate(_ANSWERS)}
    return tuple(sorted(rows, key=lambda row: order[row.answer])), tuple(pools)


def _exchange(name: str, group: list[tuple[tuple[int, int], Interchange]], in_full: bool) -> ExchangeRow:
    """One row for exchanges that have answer, deciding criterion and next step in common."""
    first = group[0][1]
    chances = sorted(one.worst.probability for _, one in group if one.worst.probability is not None)
    said = list(dict.fromkeys(one.worst.says for _, one in group))
    said += [f"contradiction: {one.contradiction}" for _, one in group if one.contradiction]
    ends = list(dict.fromkeys(percent(one) for one in (chances[:1] + chances[-1:])))
    return ExchangeRow(
        part=name,
        ways=tuple(f"{ascii_uppercase[donor]} in {ascii_uppercase[place]}" for (place, donor), _ in group),
        answer=first.answer,
        worst=first.worst.name,
        chance=" to ".join(ends),
        says=clean("; ".join(said[:_SAID]) + ("; …" if len(said) > _SAID else ""), 400),
        next=first.next or "",
        criteria=tuple(_criterion(one) for one in first.criteria) if in_full else (),
    )


def _criterion(one: Criterion) -> CriterionRow:
    chance = "" if one.probability is None else percent(one.probability)
    if one.bound is not None and one.probability is not None and percent(one.bound) != chance:
        chance = f"{chance} to {percent(one.bound)}"
    return CriterionRow(one.name, one.verdict.replace("-", " "), chance, clean(one.says, 400))


def percent(share: float) -> str:
    """A probability in percent, never rounded to a certainty that it has not.

    >>> percent(0.9997), percent(0.6626)
    ('> 99.9 %', '66.3 %')
    """
    value = 100 * share
    if value > 99.9:
        return "> 99.9 %"
    return "< 0.1 %" if value < 0.1 else f"{math.floor(value * 10 + 0.5) / 10:.1f} %"
