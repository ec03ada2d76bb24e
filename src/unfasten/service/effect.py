"""What a change does, in words: which score moved, at which part, and why."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Protocol

from unfasten.evidence.interval import Interval
from unfasten.routes.result import Reach
from unfasten.rules.node import Node

#: leaves of a score's tree
_LEAVES = ("joints.", "tools.")


@dataclass(frozen=True, slots=True)
class Effect:
    """A score, at a role where it has roles, before and after, with the sentence that says why."""

    score: str
    role: str | None
    before: Interval | None
    after: Interval | None
    why: str

    def __str__(self) -> str:
        """One sentence."""
        at = f" of {self.role}" if self.role else ""
        return f"{self.score}{at} {self.before} -> {self.after}: {self.why}"

    def as_json(self) -> dict[str, object]:
        """Give the JSON form."""
        return {
            "score": self.score,
            "role": self.role,
            "before": self.before.as_json() if self.before else None,
            "after": self.after.as_json() if self.after else None,
            "why": self.why,
        }


class Judged(Protocol):
    """Whatever holds scores: a verdict, or an assessment."""

    @property
    def scores(self) -> Mapping[str, Node]:
        """Scores by id."""


def effects(before: Judged, after: Judged) -> tuple[Effect, ...]:
    """Every score that differs, down to the roles, in the order of the law."""
    found = ((score, after.scores.get(name)) for name, score in before.scores.items())
    return tuple(effect for one, two in found if two is not None for effect in _of_score(one, two))


def _of_score(one: Node, two: Node) -> Iterator[Effect]:
    roles = {node.title: node for node in two.children if node.weight is not None}
    if not roles and one.interval != two.interval:
        yield Effect(one.id, None, one.interval, two.interval, f"{_said(one)} -> {_said(two)}")
    for old in one.children:
        new = roles.get(old.title)
        if new is not None and new.interval != old.interval:
            yield Effect(one.id, old.title, old.interval, new.interval, f"{_said(old)} -> {_said(new)}")


def _said(node: Node) -> str:
    """What decides a node: its worst joint or tool, else its own sentences and those of its worst part."""
    deciding = _worst(node)
    if deciding is not None:
        return f"{deciding.title} ({deciding.reasons[0]})" if deciding.reasons else deciding.title
    part = min(
        (c for c in node.children if c.interval), key=lambda c: c.interval.low if c.interval else 0, default=node
    )
    if part is not node and part.facts:
        return part.facts[0].says
    texts = part.reasons or tuple(text for child in part.children for text in child.reasons)
    return texts[0] if texts else "nothing that counts"


def _worst(node: Node) -> Node | None:
    leaves = [n for n in node.walk() if n.id.startswith(_LEAVES) and n.interval is not None]
    return min(leaves, key=lambda n: (n.interval.low if n.interval else 0, n.title), default=None)


def route_effect(before: Reach, after: Reach) -> str:
    """What became of the steps and the time to a part."""
    parts = [f"{_ends(before.steps_low, before.steps_high)} -> {_ends(after.steps_low, after.steps_high)} steps"]
    old, new = (_times(reach) for reach in (before, after))
    if old != new:
        parts.append(f"{old} -> {new} s")
    return f"{before.target}: {', '.join(parts)}"


def _times(reach: Reach) -> str:
    low, high = (None if route is None else f"{float(route.time):.1f}" for route in (reach.low, reach.high))
    return _ends(low, high)


def _ends(low: int | str | None, high: int | str | None) -> str:
    if low is None:
        return "no route"
    return str(low) if low == high else f"{low} to {'no route' if high is None else high}"
