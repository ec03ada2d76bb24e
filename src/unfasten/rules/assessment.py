"""An assessment: the index with its class, every score as a tree, what is open, and the readings taken."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from fractions import Fraction

from unfasten.evidence.interval import Interval, decimal_text
from unfasten.rules.criterion import Grade
from unfasten.rules.node import Node, figure_json


@dataclass(frozen=True, slots=True)
class OpenItem:
    """Something not known. `could_be` spans, in points, the figures in `points_of` that hang on it.

    `affects` are the scores; `moves` is the most by which the index can still move through these figures.
    """

    what: str
    where: str
    affects: tuple[str, ...]
    could_be: Interval
    points_of: tuple[str, ...]
    moves: Fraction

    def as_json(self) -> dict[str, object]:
        """Give the JSON form."""
        return {
            "what": self.what,
            "where": self.where,
            "affects": list(self.affects),
            "could_be": [decimal_text(self.could_be.low), decimal_text(self.could_be.high)],
            "points_of": list(self.points_of),
            "index_moves": decimal_text(self.moves),
        }


@dataclass(frozen=True, slots=True)
class OffScale:
    """A fact for which the law has no level, and the score it enters."""

    what: str
    where: str
    score: str

    def as_json(self) -> dict[str, str]:
        """Give the JSON form."""
        return {"what": self.what, "where": self.where, "score": self.score}


@dataclass(frozen=True, slots=True)
class Effect:
    """What the index and class would be under another option of a reading (None: withheld)."""

    option: str
    index: Interval | None
    grade: Grade | None
    changes: bool
    text: str

    def as_json(self) -> dict[str, object]:
        """Give the JSON form."""
        return {
            "index": self.index.as_json() if self.index else None,
            "class": self.grade.as_json() if self.grade else None,
            "changes": self.changes,
        }


@dataclass(frozen=True, slots=True)
class Taken:
    """A legal reading as it was taken, with what each alternative would change."""

    id: str
    question: str
    at: str
    chosen: str
    meaning: str
    why: str
    effects: tuple[Effect, ...] = ()

    def as_json(self) -> dict[str, object]:
        """Give the JSON form."""
        return {
            "id": self.id,
            "question": self.question,
            "at": self.at,
            "chosen": self.chosen,
            "meaning": self.meaning,
            "alternatives": [effect.option for effect in self.effects],
            "effect": "; ".join(effect.text for effect in self.effects) or "no alternative is offered",
            "effects": {effect.option: effect.as_json() for effect in self.effects},
        }


@dataclass(frozen=True, slots=True)
class RoleScore:
    """A priority part: the part that decides its depth, all parts with the role, steps, and its three scores.

    `steps` None: no route is known; its second member None: no route if every unknown cover is real.
    """

    role: str
    part: str | None
    parts: tuple[str, ...]
    steps: tuple[int, int | None] | None
    scores: Mapping[str, Interval | None]

    @property
    def is_absent(self) -> bool:
        """Tell whether no part of the record has the role."""
        return not self.parts

    def as_json(self) -> dict[str, object]:
        """Give the JSON form."""
        steps = None if self.steps is None else {"low": self.steps[0], "high": self.steps[1]}
        out: dict[str, object] = {"part": self.part, "parts": list(self.parts), "steps": steps}
        out |= {name: points.as_json() if points else None for name, points in self.scores.items()}
        return out | {"absent": True} if self.is_absent else out


@dataclass(frozen=True, slots=True)
class Assessment:
    """The answer of a rule set for one product on one day; where `applies` is false only `reason` matters."""

    rules: str
    title: str
    on: date
    applies: bool
    reason: str | None = None
    index: Node | None = None
    grade: Grade | None = None
    scores: Mapping[str, Node] = field(default_factory=dict)
    parts: tuple[RoleScore, ...] = ()
    open: tuple[OpenItem, ...] = ()
    off_scale: tuple[OffScale, ...] = ()
    readings: tuple[Taken, ...] = ()
    note: str | None = None

    @property
    def points(self) -> Interval | None:
        """The index as an interval; None where it is withheld or the rules do not apply."""
        return self.index.interval if self.index else None

    def as_json(self) -> dict[str, object]:
        """Give the JSON form; numbers are exact decimal texts."""
        head: dict[str, object] = {"rules": self.rules, "title": self.title, "on": self.on.isoformat()}
        if not self.applies or self.index is None:
            return head | {"applies": False, "reason": self.reason}
        return head | {
            "applies": True,
            "reason": self.reason,
            "index": self.points.as_json() if self.points else None,
            "class": self.grade.as_json() if self.grade else None,
            "scores": {n: s.interval.as_json() if s.interval else None for n, s in self.scores.items()},
            "parts": {part.role: part.as_json() for part in self.parts},
            "open": [item.as_json() for item in self.open],
            "off_scale": [item.as_json() for item in self.off_scale],
            "readings": [taken.as_json() for taken in self.readings],
            "note": self.note,
            "explanation": self.index.as_json(),
            "class_explanation": {
                "reasons": list(self.grade.reasons),
                "parameters": [figure_json(figure) for figure in self.grade.uses],
            }
            if self.grade
            else None,
        }
