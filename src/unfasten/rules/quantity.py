"""A quantity of a label: a pure function from test figures to an interval, with its class where it has one."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from fractions import Fraction

from unfasten.evidence.interval import Interval, round_half_up, short_text
from unfasten.evidence.parameter import Figure, Law, Parameter
from unfasten.rules.case import Case
from unfasten.rules.criterion import Grade, Readings
from unfasten.rules.node import Fact, figure_json
from unfasten.rules.verdict import Look


@dataclass(frozen=True, slots=True)
class Measure:
    """A figure of the label. `figure` None: nothing is known of it, or it is a word.

    `is_open_above`: the upper end of the figure is not known. `words` is how the label writes it, low and high.
    `places`: decimals that the law names for the figure, None where it names none.
    """

    id: str
    title: str
    unit: str
    figure: Interval | None = None
    is_open_above: bool = False
    grade: Grade | None = None
    words: tuple[str, str] | None = None
    reasons: tuple[str, ...] = ()
    facts: tuple[Fact, ...] = ()
    look: tuple[Look, ...] = ()
    uses: tuple[Figure, ...] = ()
    places: int | None = None

    @property
    def is_known(self) -> bool:
        """Tell whether what the label shows is one class, word or number."""
        if self.words is not None:
            return self.words[0] == self.words[1]
        if self.grade is not None:
            return self.grade.is_known
        return self.figure is not None and self.figure.is_known and not self.is_open_above

    def as_json(self) -> dict[str, object]:
        """Give the JSON form; numbers are decimal texts, rounded to six places where they have more."""
        return {
            "id": self.id,
            "title": self.title,
            "unit": self.unit,
            "figure": self._figure_json(),
            "class": self.grade.as_json() if self.grade else None,
            "shown": None if self.words is None else {"low": self.words[0], "high": self.words[1]},
            "known": self.is_known,
            "reasons": list(self.reasons),
            "look_at": [look.as_json() for look in self.look],
            "facts": [fact.as_json() for fact in self.facts],
            "parameters": [figure_json(figure) for figure in self.uses],
        }

    def _figure_json(self) -> dict[str, object] | None:
        if self.figure is None:
            return None
        high = None if self.is_open_above else number_text(self.figure.high)
        return {"low": number_text(self.figure.low), "high": high}


def number_text(value: Fraction, places: int = 6) -> str:
    """The decimal text without needless zeros, rounded to `places` decimals (a half goes up)."""
    return short_text(round_half_up(value, places))


def _told(value: Fraction, places: int | None) -> str:
    """The figure as a label states it: with all its places where a law names their number, else at most two."""
    text = number_text(value, 2 if places is None else places)
    return text if places is None else f"{Decimal(text):.{places}f}"


def shown(measure: Measure) -> str:
    """The figure of a quantity with its class, low to high where it is open."""
    out = []
    if measure.words is not None:
        out.append(measure.words[0] if measure.words[0] == measure.words[1] else " to ".join(measure.words))
    elif measure.figure is not None:
        low, high = (_told(end, measure.places) for end in (measure.figure.low, measure.figure.high))
        out.append(f"{low} or more" if measure.is_open_above else low if low == high else f"{low} to {high}")
    if measure.grade is not None:
        out.append(f"class {measure.grade}")
    return ", ".join(out) or "not known"


Judge = Callable[[Case, Law, Readings], Measure]


@dataclass(frozen=True, slots=True)
class Quantity:
    """A quantity of a label. `needs` are the parameters it asks for."""

    id: str
    title: str
    clause: str
    needs: tuple[str, ...]
    judge: Judge

    def __call__(self, case: Case, parameters: Mapping[str, Parameter], day: date, readings: Readings) -> Measure:
        """Compute the quantity on a day; `TooEarlyError` where a figure has no value yet."""
        law = Law(parameters, day)
        measure = self.judge(case, law, readings)
        return replace(measure, id=self.id, title=self.title, uses=tuple(law(name) for name in sorted(law.asked)))


def quantity(name: str, *, title: str, clause: str, needs: tuple[str, ...]) -> Callable[[Judge], Quantity]:
    """Bind the function below to the id of its quantity; an id never changes and is never used again."""

    def bind(judge: Judge) -> Quantity:
        return Quantity(name, title, clause, needs, judge)

    return bind
