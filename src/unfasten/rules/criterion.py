"""A criterion: a pure function that gives a score, bound where it is defined to its id, title and place in the law."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from unfasten.evidence.parameter import Figure, Law
from unfasten.rules.facts import Product
from unfasten.rules.node import Node

Readings = Mapping[str, str]
Judge = Callable[[Product, Law, Readings], Node]
Combine = Callable[[Mapping[str, Node], Law], Node]


@dataclass(frozen=True, slots=True)
class Criterion:
    """A score of a rule set. `needs` are the parameters it asks for."""

    id: str
    title: str
    clause: str
    needs: tuple[str, ...]
    judge: Judge

    def __call__(self, product: Product, law: Law, readings: Readings) -> Node:
        """Judge the product."""
        return self.judge(product, law, readings)


def criterion(name: str, *, title: str, clause: str, needs: tuple[str, ...]) -> Callable[[Judge], Criterion]:
    """Bind the function below to the id of its score; an id never changes and is never used again."""

    def bind(judge: Judge) -> Criterion:
        return Criterion(name, title, clause, needs, judge)

    return bind


@dataclass(frozen=True, slots=True)
class Grade:
    """The class of the lowest and of the highest index, with the sentences and the figures for it."""

    low: str
    high: str
    reasons: tuple[str, ...] = ()
    uses: tuple[Figure, ...] = ()

    @property
    def is_known(self) -> bool:
        """Tell whether only one class is left."""
        return self.low == self.high

    def __str__(self) -> str:
        """`B` where known, else `C to B`."""
        return self.low if self.is_known else f"{self.low} to {self.high}"

    def as_json(self) -> dict[str, str]:
        """Give the JSON form."""
        return {"low": self.low, "high": self.high}
