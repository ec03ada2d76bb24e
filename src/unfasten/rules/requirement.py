"""A requirement: a pure function that gives a verdict, bound to its id, title and place in the law."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from datetime import date

from unfasten.evidence.parameter import Law, Parameter
from unfasten.rules.case import Case
from unfasten.rules.criterion import Readings
from unfasten.rules.verdict import Ruling

Judge = Callable[[Case, Law, Readings], Ruling]


@dataclass(frozen=True, slots=True)
class Requirement:
    """A requirement of a rule set. `needs` are the parameters it asks for."""

    id: str
    title: str
    clause: str
    needs: tuple[str, ...]
    judge: Judge

    def __call__(self, case: Case, parameters: Mapping[str, Parameter], day: date, readings: Readings) -> Ruling:
        """Judge the case on a day; `TooEarlyError` where a figure has no value yet."""
        law = Law(parameters, day)
        ruling = self.judge(case, law, readings)
        return replace(ruling, id=self.id, title=self.title, uses=tuple(law(name) for name in sorted(law.asked)))


def requirement(name: str, *, title: str, clause: str, needs: tuple[str, ...]) -> Callable[[Judge], Requirement]:
    """Bind the function below to the id of its requirement; an id never changes and is never used again."""

    def bind(judge: Judge) -> Requirement:
        return Requirement(name, title, clause, needs, judge)

    return bind
