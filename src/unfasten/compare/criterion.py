"""One criterion of interchangeability: its verdict, the conformance probability, and what to measure next."""

from __future__ import annotations

from dataclasses import dataclass
from math import inf
from typing import Final, Literal

from unfasten.compare.conform import Rule, decide

#: shown: met as surely as the rule asks; change: met if something is changed; against: not met, as surely
Verdict = Literal["shown", "change", "against", "open", "not-applicable"]
RANK: Final[dict[Verdict, int]] = {"against": 0, "open": 1, "change": 2, "shown": 3, "not-applicable": 4}


@dataclass(frozen=True, slots=True)
class Criterion:
    """A criterion and how it came out.

    `probability` is the conformance probability, or its lower bound where several conditions must hold together; None
    where it is not a matter of measurement or an uncertainty is not assessed. `bound` is the upper bound, if another.
    `evidence` are places in the two records; `measure` is what would decide an open criterion. One that only `informs`
    does not count for the answer.
    """

    name: str
    verdict: Verdict
    says: str
    probability: float | None = None
    bound: float | None = None
    evidence: tuple[str, ...] = ()
    measure: str | None = None
    by_test: str | None = None
    informs: bool = False

    @property
    def rank(self) -> tuple[int, float, str]:
        """Sorts the worst criterion first."""
        unknown = 1.0 if self.verdict == "shown" else 0.0
        return RANK[self.verdict], unknown if self.probability is None else self.probability, self.name


@dataclass(frozen=True, slots=True)
class Condition:
    """A measured condition: `y` with standard uncertainty `u` must lie between `low` and `high` (one unit)."""

    y: float
    u: float | None
    low: float = -inf
    high: float = inf


def judged(condition: Condition, rule: Rule) -> tuple[Verdict, float | None]:
    """Judge a condition; open, and without a probability, where the uncertainty was not assessed."""
    if condition.u is None:
        return "open", None
    return decide(condition.y, condition.u, condition.low, condition.high, rule)


def not_applicable(name: str, says: str) -> Criterion:
    """A criterion that does not arise for these parts."""
    return Criterion(name, "not-applicable", says)
