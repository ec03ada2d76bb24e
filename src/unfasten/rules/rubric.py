"""A lab's own rubric: criteria with weights, each a figure in bands that give percent. Its result is in percent.

Every criterion names a figure that the program computes, and bands from best to worst or the other way round:

    figure: steps
    of: battery
    weight: 3
    bands: [{at_most: 4, percent: 100}, {at_most: 10, percent: 60}, {percent: 0}]
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Final, Literal

from unfasten.evidence.interval import Interval, known, round_half_up, short_text
from unfasten.rules.node import Fact
from unfasten.rules.verdict import Look

FULL: Final = Fraction(100)
LEAVE_OUT: Final = "leave-out"
#: units that are words and take an s
COUNTED: Final = frozenset(
    ("step", "tool", "heating", "part", "joint", "fastener", "drive", "point", "requirement", "fall", "cycle", "cell")
)
Test = Literal["at_most", "at_least", "is"]


@dataclass(frozen=True, slots=True)
class Band:
    """One band: a limit for `at_most` or `at_least`, words for `is`; neither in the last band, which takes the rest."""

    percent: Fraction
    limit: Fraction | None = None
    words: tuple[str, ...] = ()

    @property
    def is_rest(self) -> bool:
        """Tell whether this band takes what no other takes."""
        return self.limit is None and not self.words


@dataclass(frozen=True, slots=True)
class Mark:
    """One criterion as the file states it. `if_absent`: what a figure counts that the product does not have."""

    id: str
    title: str
    figure: str
    of: str | None
    rules: str | None
    weight: Fraction
    test: Test
    bands: tuple[Band, ...]
    if_absent: Fraction | Literal["leave-out"] | None = None


@dataclass(frozen=True, slots=True)
class Rubric:
    """A rubric as its file states it."""

    id: str
    title: str
    note: str | None
    marks: tuple[Mark, ...]


@dataclass(frozen=True, slots=True)
class Value:
    """A figure as the record gives it: an interval, open above where `high` is None, or the words it may be.

    `absent`: the product does not have what is asked about. Neither interval nor words: nothing is known.
    """

    unit: str = ""
    low: Fraction | None = None
    high: Fraction | None = None
    words: tuple[str, ...] = ()
    absent: bool = False
    reasons: tuple[str, ...] = ()
    facts: tuple[Fact, ...] = ()
    look: tuple[Look, ...] = ()

    @property
    def text(self) -> str:
        """The figure with its unit, low to high where it is open."""
        if self.absent:
            return "absent"
        if self.words:
            return " or ".join(self.words)
        if self.low is None:
            return "not known"
        low = _text(self.low)
        end = "" if self.high == self.low else " or more" if self.high is None else f" to {_text(self.high)}"
        many = self.unit in COUNTED and not (self.low == 1 and self.high == 1)
        return f"{low}{end} {self.unit}{'s' if many else ''}".rstrip()


@dataclass(frozen=True, slots=True)
class Scored:
    """A criterion with what the record gives it [percent]; `percent` None: it is left out."""

    mark: Mark
    value: Value
    percent: Interval | None
    reasons: tuple[str, ...]

    @property
    def look(self) -> tuple[Look, ...]:
        """What can narrow an open result."""
        return self.value.look if self.percent is not None and not self.percent.is_known else ()

    def as_json(self) -> dict[str, object]:
        """Give the JSON form."""
        return {
            "id": self.mark.id,
            "title": self.mark.title,
            "figure": self.mark.figure,
            "of": self.mark.of,
            "weight": _text(self.mark.weight),
            "value": self.value.text,
            "percent": percent_json(self.percent),
            "reasons": list(self.reasons),
            "facts": [fact.as_json() for fact in self.value.facts],
            "look_at": [look.as_json() for look in self.look],
        }


@dataclass(frozen=True, slots=True)
class RubricResult:
    """The whole result [percent]; None where every criterion is left out."""

    rubric: Rubric
    percent: Interval | None
    scored: tuple[Scored, ...]

    def share(self, scored: Scored) -> Fraction:
        """Share of a criterion in the result, after those left out [1]."""
        total = sum((one.mark.weight for one in self.scored if one.percent is not None), Fraction(0))
        return scored.mark.weight / total if scored.percent is not None and total else Fraction(0)

    def as_json(self) -> dict[str, object]:
        """Give the JSON form; percent rounded to two decimals, a half goes up."""
        return {
            "rubric": self.rubric.id,
            "title": self.rubric.title,
            "note": self.rubric.note,
            "percent": percent_json(self.percent),
            "criteria": [one.as_json() | {"share": percent_text(FULL * self.share(one))} for one in self.scored],
        }


def score(rubric: Rubric, values: Mapping[str, Value]) -> RubricResult:
    """Score the values, by id of criterion; the result is the mean by weight of what is not left out."""
    scored = tuple(_scored(mark, values[mark.id]) for mark in rubric.marks)
    counted = [one for one in scored if one.percent is not None]
    total = sum((one.mark.weight for one in counted), Fraction(0))
    if not total:
        return RubricResult(rubric, None, scored)
    whole = known(0)
    for one in counted:
        if one.percent is not None:
            whole = whole + one.percent.scaled(one.mark.weight / total)
    return RubricResult(rubric, whole, scored)


def _scored(mark: Mark, value: Value) -> Scored:
    if value.absent and mark.if_absent == LEAVE_OUT:
        return Scored(mark, value, None, (*value.reasons, "absent: left out"))
    if value.absent and isinstance(mark.if_absent, Fraction):
        why = f"absent: {_text(mark.if_absent)} %"
        return Scored(mark, value, known(mark.if_absent), (*value.reasons, why))
    hit = _touched(mark, value)
    percents = [band.percent for band in hit]
    reasons = tuple(f"{band_text(mark, band)} gives {_text(band.percent)} %" for band in hit)
    return Scored(mark, value, Interval(min(percents), max(percents)), (*value.reasons, *reasons))


def _touched(mark: Mark, value: Value) -> Sequence[Band]:
    """The bands that the figure may fall into, in the order of the file."""
    if mark.test == "is":
        if not value.words:
            return mark.bands
        found = [next(band for band in mark.bands if band.is_rest or word in band.words) for word in value.words]
        return [band for band in mark.bands if band in found]
    if value.low is None:
        return mark.bands
    ends = [_place(mark, value.low), len(mark.bands) - 1 if value.high is None else _place(mark, value.high)]
    if value.high is None and mark.test == "at_least":
        ends[1] = 0
    return mark.bands[min(ends) : max(ends) + 1]


def _place(mark: Mark, value: Fraction) -> int:
    """Number of the first band that takes the value."""
    for number, band in enumerate(mark.bands):
        if band.limit is None or (value <= band.limit if mark.test == "at_most" else value >= band.limit):
            return number
    raise ValueError(f"{mark.id} has no last band")


def band_text(mark: Mark, band: Band) -> str:
    """A band in words, such as `at most 4` or `otherwise`."""
    if band.limit is not None:
        return f"{mark.test.replace('_', ' ')} {_text(band.limit)}"
    return f"is {' or '.join(band.words)}" if band.words else "otherwise"


def percent_text(value: Fraction) -> str:
    """Percent with two decimals, a half goes up."""
    return f"{float(round_half_up(value, 2)):.2f}"


def percent_json(percent: Interval | None) -> dict[str, str] | None:
    """Low and high of a percentage."""
    return None if percent is None else {"low": percent_text(percent.low), "high": percent_text(percent.high)}


def _text(value: Fraction) -> str:
    return short_text(round_half_up(value, 6))
