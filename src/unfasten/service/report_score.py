"""Index section of a report, from the assessment under a rule set."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from fractions import Fraction
from itertools import pairwise

from unfasten.evidence.cite import sources
from unfasten.evidence.interval import Interval, decimal_text, short_text
from unfasten.evidence.parameter import Figure
from unfasten.record.record import Record
from unfasten.report.model.depth import StepBand
from unfasten.report.model.score import Band, Border, IndexSection, OpenFact, ScoreNode
from unfasten.report.model.span import Span
from unfasten.routes.result import Reach
from unfasten.rules.assessment import Assessment, Taken
from unfasten.rules.library import edition
from unfasten.rules.node import Node
from unfasten.service.assess import assess
from unfasten.service.report_words import clean, joint_name, listing, tool_name, words

_LEAVES = ("joints.", "tools.")
#: joints or tools named in one reason; more are counted
NAMED = 7


@dataclass(frozen=True, slots=True)
class Rating:
    """What the rules give to a report: the index, what is open, the bands of steps that score alike, the sources."""

    index: IndexSection
    band: Band | None = None
    open: tuple[OpenFact, ...] = ()
    steps: tuple[StepBand, ...] = ()
    beyond: str = ""
    sources: tuple[str, ...] = ()


def rate(record: Record, reaches: Mapping[str, Reach], on: date) -> Rating:
    """Assess a record under the default rule set and give what a report shows of it."""
    return rating_of(record, assess(record, reaches, on), on)


def rating_of(record: Record, answer: Assessment, on: date) -> Rating:
    """Give what a report shows of an assessment; where the rules do not apply there is neither band nor tree."""
    rules = edition(answer.rules)
    if not answer.applies or answer.index is None:
        reason = clean(answer.reason) or "the rules do not cover this product"
        return Rating(IndexSection(False, reason, answer.rules, answer.title, (), ()))
    steps, beyond = _step_bands(rules.parameters["depth.points"].on(on))
    source = sources()[rules.source]
    return Rating(
        index=IndexSection(
            applies=True,
            reason=clean(answer.reason),
            rules=answer.rules,
            rules_title=answer.title,
            tree=(_node(record, answer.index),),
            readings=tuple(_reading(taken) for taken in answer.readings),
        ),
        band=_band(answer, rules.parameters["class.limits"].on(on), rules.parameters["points.scale"].on(on)),
        open=tuple(_open(item.what, item.where, item.points_of, item.could_be) for item in answer.open),
        steps=steps,
        beyond=beyond,
        sources=(f"{source.title}, {source.edition}; figures read: {source.read}",),
    )


def _band(answer: Assessment, limits: Figure, scale: Figure) -> Band | None:
    if answer.points is None or answer.grade is None:
        return None
    borders = tuple(Border(str(row["class"]), Decimal(decimal_text(_exact(row["at_least"])))) for row in limits.rows)
    ends = scale.table
    grade = answer.grade
    return Band(
        span=points_span(answer.points),
        least=Decimal(short_text(ends["lowest"])),
        most=Decimal(short_text(ends["highest"])),
        borders=tuple(sorted(borders, key=lambda border: border.start)),
        classes=grade.low if grade.is_known else f"{grade.low}–{grade.high}",
        word="settled" if answer.points.is_known else "open",
    )


def _exact(content: object) -> Fraction:
    assert isinstance(content, Fraction)
    return content


def points_span(interval: Interval | None) -> Span:
    """Give points as an interval with their exact decimal text; `withheld` where a fact has no level."""
    if interval is None:
        return Span(None, None, "withheld", False)
    low, high = decimal_text(interval.low), decimal_text(interval.high)
    return Span(Decimal(low), Decimal(high), low if interval.is_known else f"{low}–{high}", not interval.is_known)


def _step_bands(figure: Figure) -> tuple[tuple[StepBand, ...], str]:
    rows = sorted((_exact(row["at_least"]), _exact(row["points"])) for row in figure.rows)
    bands = [StepBand(int(following[0]) - 1, short_text(row[1])) for row, following in pairwise(rows)]
    return tuple(bands), short_text(rows[-1][1])


def _node(record: Record, node: Node) -> ScoreNode:
    if _is_single(node):
        inner = _node(record, node.children[0])
        weight = short_text(node.weight) if node.weight is not None else ""
        return ScoreNode(node.id, _title(record, node), weight, inner.span, inner.reasons, inner.open, inner.children)
    bounds = [child for child in node.children if _is_bound(child, node)]
    leaves = [child for child in node.children if child.id.startswith(_LEAVES)]
    rest = [child for child in node.children if child not in bounds and child not in leaves]
    return ScoreNode(
        id=node.id,
        title=_title(record, node),
        weight="" if node.weight is None else short_text(node.weight),
        span=points_span(node.interval),
        reasons=(*map(clean, node.reasons), *_grouped(record, leaves), *_bounds(record, bounds), *_facts(node)),
        open=tuple(f"{clean(remark.what)} [{remark.at}]" for remark in node.remarks),
        children=tuple(_node(record, child) for child in rest),
    )


def _is_single(node: Node) -> bool:
    """Tell a role that one part has: its part is shown as the role itself."""
    return len(node.children) == 1 and node.weight is not None and node.children[0].id.startswith(f"{node.id}.")


def _is_bound(child: Node, parent: Node) -> bool:
    return child.id in (f"{parent.id}.low", f"{parent.id}.high")


def _title(record: Record, node: Node) -> str:
    name = node.id.rsplit(".", 1)[-1]
    return clean(record.parts[name].name, 80) if name in record.parts else words(node.title)


def _bounds(record: Record, bounds: Sequence[Node]) -> tuple[str, ...]:
    """Say in one line per bound what the points are and why; in one line for both where they agree."""
    said = {bound.title: [*map(clean, bound.reasons), *_grouped(record, bound.children)] for bound in bounds}
    spans = {points_span(bound.interval).text for bound in bounds}
    texts = {"; ".join(reasons) for reasons in said.values()}
    if len(spans) == len(texts) == 1:
        return tuple(texts)
    return tuple(
        f"{title}, {points_span(bound.interval).text}: {'; '.join(said[title])}"
        for bound, title in zip(bounds, said, strict=True)
    )


def _grouped(record: Record, leaves: Sequence[Node]) -> tuple[str, ...]:
    """Join the joints or tools that give the same points; those that decide (fewest points) say what they are for."""
    groups: dict[tuple[Decimal, str], list[str]] = {}
    least = min((points_span(leaf.interval).low or Decimal(0) for leaf in leaves), default=Decimal(0))
    for leaf in leaves:
        span = points_span(leaf.interval)
        name = _leaf_name(record, leaf)
        if span.low == least and leaf.reasons[1:]:
            name += f" ({'; '.join(map(clean, leaf.reasons[1:]))})"
        head = f"{span.text} {clean(leaf.reasons[0])}" if leaf.reasons else span.text
        groups.setdefault((span.low or Decimal(0), head), []).append(name)
    return tuple(f"{head}: {_named(names)}" for (_, head), names in sorted(groups.items()))


def _named(names: list[str]) -> str:
    return listing(names if len(names) <= NAMED + 1 else [*names[:NAMED], f"{len(names) - NAMED} more"])


def _leaf_name(record: Record, leaf: Node) -> str:
    kind, _, name = leaf.id.partition(".")
    if kind == "joints" and name in record.joints:
        return joint_name(record, name)
    return tool_name(record, name) if name in record.tools else clean(leaf.title)


def _facts(node: Node) -> tuple[str, ...]:
    """Name where a score of the whole product comes from; parts and joints say it in their own lines."""
    origins = sorted({fact.origin for fact in node.facts if fact.at.startswith("supply")})
    return tuple(f"origin: {origin}" for origin in origins)


def _open(what: str, where: str, points_of: Sequence[str], could_be: Interval) -> OpenFact:
    return OpenFact(clean(what[:1].upper() + what[1:]), where, ", ".join(points_of), points_span(could_be).text)


def _reading(taken: Taken) -> str:
    effects = [effect.text for effect in taken.effects if effect.changes]
    text = f"{taken.question} Taken: {taken.meaning} ({taken.at}). {taken.why}"
    return f"{text} Otherwise: {'; '.join(effects)}." if effects else f"{text} No other option changes this result."
