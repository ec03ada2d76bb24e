"""What differs in the index and every score of two records, with the facts behind it."""

from __future__ import annotations

from collections.abc import Iterator

from unfasten.compare.build import difference
from unfasten.compare.difference import Difference, Effect, Evidence, Side
from unfasten.compare.sides import Pair
from unfasten.evidence.interval import Interval
from unfasten.rules.assessment import Assessment
from unfasten.rules.node import Node

NOT_COMPUTED = "not computed"


def score_differences(pair: Pair, before: Assessment, after: Assessment) -> Iterator[Difference]:
    """Differences of index, class, scores and the scores of each role; none where a rule set covers neither product."""
    if not before.applies and not after.applies:
        return
    a, b = before.points, after.points
    if a != b or before.index is None or after.index is None:
        texts = (_text(before), _text(after))
        evidence = [*_scores("before", before), *_scores("after", after)]
        yield difference("re-scored", "index", ("product", "product"), texts, effect=_effect(a, b), evidence=evidence)
    one, other = _figures(before), _figures(after)
    for name in list(dict.fromkeys([*one, *other])):
        x, y = one.get(name), other.get(name)
        points = (x.interval if x else None, y.interval if y else None)
        if points[0] != points[1]:
            yield difference(
                "re-scored",
                name,
                ("product", "product"),
                (_points(points[0]), _points(points[1])),
                effect=_effect(*points),
                owners=_owners(pair, name),
                evidence=_behind(x, y),
            )


def _scores(side: Side, assessment: Assessment) -> Iterator[Evidence]:
    """The scores that make the index."""
    for name, node in assessment.scores.items():
        yield Evidence(side, name, f"{node.title}: {_points(node.interval)}", "computed")


def _text(assessment: Assessment) -> str:
    if not assessment.applies:
        return f"{NOT_COMPUTED}: {assessment.reason}"
    grade = assessment.grade.as_json() if assessment.grade else None
    classes = sorted({str(grade[end]) for end in ("low", "high")}) if grade else []
    return _points(assessment.points) + (f", class {' or '.join(classes)}" if classes else "")


def _points(points: Interval | None) -> str:
    return NOT_COMPUTED if points is None else str(points)


def _effect(a: Interval | None, b: Interval | None) -> Effect:
    """Fewer points are `harder`; intervals that overlap leave it open."""
    if a is None or b is None:
        return "open"
    if a.high < b.low:
        return "easier"
    return "harder" if b.high < a.low else "open"


def _figures(assessment: Assessment) -> dict[str, Node]:
    """The scores and, of each, the parts of it by role: `S_DD`, `S_DD battery`."""
    out: dict[str, Node] = {}
    for name, node in assessment.scores.items():
        out[name] = node
        for child in node.children:
            if child.id.startswith(f"{name}."):
                out[child.id.replace(".", " ", 1)] = child
    return out


def _owners(pair: Pair, name: str) -> tuple[str, ...]:
    """Common names of the parts whose role the score is of."""
    _, _, role = name.partition(" ")
    found = [
        side.names[part]
        for side in (pair.before, pair.after)
        for part, one in side.record.parts.items()
        if role and one.role == role
    ]
    return tuple(found)


def _behind(a: Node | None, b: Node | None) -> tuple[Evidence, ...]:
    """Reasons that only one of the two has."""
    one, other = _reasons(a), _reasons(b)
    sides: tuple[tuple[Side, dict[tuple[str, str], None], dict[tuple[str, str], None]], ...] = (
        ("before", one, other),
        ("after", other, one),
    )
    return tuple(
        Evidence(side, at, says, "computed")
        for side, mine, theirs in sides
        for at, says in mine
        if (at, says) not in theirs
    )


def _reasons(node: Node | None) -> dict[tuple[str, str], None]:
    out: dict[tuple[str, str], None] = {}
    for one in node.walk() if node else ():
        for says in one.reasons:
            out[(one.id, f"{one.title}: {says}")] = None
        for fact in one.facts:
            out[(fact.at, f"{fact.says} ({fact.origin})")] = None
    return out
