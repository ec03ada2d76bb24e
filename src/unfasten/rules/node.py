"""The tree of a score: every node holds its interval, the sentences for it, and the figures and facts it rests on."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from unfasten.evidence.interval import Interval, short_text
from unfasten.evidence.parameter import Figure

Origin = Literal["seen", "measured", "computed", "claimed", "assumed"]


@dataclass(frozen=True, slots=True)
class Fact:
    """A fact used: its place in the record, what it says and where it comes from."""

    at: str
    says: str
    origin: Origin

    def as_json(self) -> dict[str, str]:
        """Give the JSON form."""
        return {"at": self.at, "says": self.says, "origin": self.origin}


@dataclass(frozen=True, slots=True)
class Remark:
    """Something open (not known) or off the scale (no level in the law) at a place of the record."""

    kind: Literal["open", "off-scale"]
    what: str
    at: str


@dataclass(frozen=True, slots=True)
class Node:
    """One figure of the tree. `interval` in points; None: withheld, because a fact has no level in the law.

    `weight` is its share in the parent's sum, None where the parent takes the lowest or merely lists.
    """

    id: str
    title: str
    interval: Interval | None
    reasons: tuple[str, ...] = ()
    children: tuple[Node, ...] = ()
    weight: Fraction | None = None
    uses: tuple[Figure, ...] = ()
    facts: tuple[Fact, ...] = ()
    remarks: tuple[Remark, ...] = ()

    def walk(self) -> Iterator[Node]:
        """This node and every one below it, parents first."""
        yield self
        for child in self.children:
            yield from child.walk()

    def as_json(self) -> dict[str, object]:
        """Give the tree as JSON; empty lists are left out."""
        out: dict[str, object] = {"id": self.id, "title": self.title}
        out |= self.interval.as_json() if self.interval else {"low": None, "high": None}
        if self.weight is not None:
            out["weight"] = short_text(self.weight)
        lists: dict[str, list[object]] = {
            "reasons": list(self.reasons),
            "parameters": [figure_json(figure) for figure in self.uses],
            "facts": [fact.as_json() for fact in self.facts],
            "open": [{"what": r.what, "where": r.at} for r in self.remarks if r.kind == "open"],
            "off_scale": [{"what": r.what, "where": r.at} for r in self.remarks if r.kind == "off-scale"],
            "children": [child.as_json() for child in self.children],
        }
        return out | {key: items for key, items in lists.items() if items}


def figure_json(figure: Figure) -> dict[str, str]:
    """A parameter as it was used: id, day since which it holds, document, place and confidence."""
    return {
        "id": figure.id,
        "since": figure.since.isoformat(),
        "doc": figure.cite.doc,
        "at": figure.cite.at,
        "confidence": figure.confidence,
    }
