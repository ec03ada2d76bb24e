"""The figures that bench questions narrow: the steps of a part, the index, the class."""

from __future__ import annotations

import difflib
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from typing import Protocol

from unfasten.evidence.errors import CallError
from unfasten.evidence.interval import decimal_text
from unfasten.record.record import Record
from unfasten.routes.questions import Width, span_of
from unfasten.routes.result import Reach, Route
from unfasten.rules.engine import Verdict, judge
from unfasten.rules.library import edition
from unfasten.rules.readings import choose
from unfasten.service.assess import DEFAULT_RULES, product_of

_REMEDY = "ask for the steps of a part: --for PART"


@dataclass(frozen=True, slots=True)
class Shown:
    """A figure as it is shown: its two ends (None: no route, or no figure), and the width that questions narrow."""

    low: str | int | None
    high: str | int | None
    width: Fraction

    @property
    def is_known(self) -> bool:
        """Tell whether the two ends agree."""
        return self.low == self.high


class Figure(Protocol):
    """A figure that depends on the reaches of some parts."""

    name: str
    targets: tuple[str, ...]
    second: Width | None  # width that decides between equals; None: the steps

    def shown(self, reaches: Mapping[str, Reach]) -> Shown:
        """The figure under these reaches."""


class StepsFigure:
    """Steps of one part, with the additions for pairing."""

    def __init__(self, record: Record, part: str) -> None:
        self.name = part
        self.targets: tuple[str, ...] = (part,)
        self.second: Width | None = None
        self.record = record

    def shown(self, reaches: Mapping[str, Reach]) -> Shown:
        """Both ends in steps; an end without a route is None and counts one more than any route could take."""
        reach = reaches[self.name]
        low, high = span_of(reach, self.record)
        ends = (None if reach.low is None else low, None if reach.high is None else high)
        return Shown(*ends, Fraction(high - low))


class IndexFigure:
    """The index in points, or (with `letters`) its class, under a rule set on a day.

    Raises `CallError` where the rules do not apply to the product.
    """

    def __init__(self, record: Record, on: date, *, letters: bool = False, rules: str = DEFAULT_RULES) -> None:
        self.name = "class" if letters else "index"
        self.letters = letters
        self.on = on
        self.record = record.model_copy(update={"log": ()})  # folded already; the log is not needed any more
        self.rules = edition(rules)
        self.readings = choose(self.rules.readings, {})
        reason = self.rules.why_not(record.product.category, on)
        if reason is not None:
            raise CallError("ask.no-index", f"--for {self.name}", f"there is no {self.name}: {reason}", _REMEDY)
        named = (name for name, part in record.parts.items() if part.role not in (None, "other") and not part.stays)
        self.targets = tuple(named)
        self.second: Width | None = self.points if letters else None
        self._verdicts: dict[object, Verdict] = {}

    def shown(self, reaches: Mapping[str, Reach]) -> Shown:
        """Both ends as exact decimal text or as letters; the width in points or in letters."""
        verdict = self.verdict(reaches)
        if verdict.index.interval is None or verdict.grade is None:
            return Shown(None, None, Fraction(0))
        if self.letters:
            grade = verdict.grade
            return Shown(grade.low, grade.high, Fraction(ord(grade.low) - ord(grade.high)))
        points = verdict.index.interval
        return Shown(decimal_text(points.low), decimal_text(points.high), points.width)

    def points(self, reaches: Mapping[str, Reach]) -> Fraction:
        """Width of the index in points."""
        points = self.verdict(reaches).index.interval
        return Fraction(0) if points is None else points.width

    def verdict(self, reaches: Mapping[str, Reach]) -> Verdict:
        """The rules' verdict, judged once for the same routes."""
        key = tuple((t, r.additions, _key(r.low), _key(r.high)) for t, r in reaches.items())
        if key not in self._verdicts:
            self._verdicts[key] = judge(self.rules, product_of(self.record, reaches), self.on, self.readings)
        return self._verdicts[key]


def figure_for(record: Record, name: str, on: date) -> Figure:
    """The figure `index`, `class`, or the steps of a part; raises `CallError` for an unknown part or without index."""
    if name in ("index", "class"):
        return IndexFigure(record, on, letters=name == "class")
    if name not in record.parts:
        near = difflib.get_close_matches(name, [*record.parts, "index", "class"], 1)
        remedy = f'did you mean "{near[0]}"?' if near else f"name index, class, or one of {', '.join(record.parts)}"
        raise CallError("ask.unknown-figure", "--for", f'the record has no part "{name}"', remedy)
    if record.parts[name].stays:
        raise CallError("ask.part-stays", "--for", f'"{name}" is the part that stays', "name a part that can be lifted")
    return StepsFigure(record, name)


def _key(route: Route | None) -> object:
    return None if route is None else (route.actions, route.proven, route.bound)
