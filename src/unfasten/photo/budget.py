"""Uncertainty budgets after JCGM 100: components, effective degrees of freedom, coverage intervals."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal

#: coverage probability of stated intervals
COVERAGE: Final = 0.95

Evaluation = Literal["A", "B"]


@dataclass(frozen=True, slots=True)
class Component:
    """One line of a budget: `u` is its contribution to the result, in the unit of the result (JCGM 100, 5.1.3).

    `dof` is infinite where the component is taken as exactly known (JCGM 100, G.4.3).
    """

    name: str
    u: float
    dof: float
    evaluation: Evaluation
    says: str = ""

    def as_json(self) -> dict[str, object]:
        """Give the JSON form; infinite degrees of freedom are null."""
        return {"name": self.name, "u": self.u, "dof": _finite(self.dof), "type": self.evaluation,
                "says": self.says}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Budget:
    """The components of one result; they are independent of each other."""

    components: tuple[Component, ...]

    @property
    def u(self) -> float:
        """Combined standard uncertainty (JCGM 100, 5.1.2)."""
        return math.sqrt(math.fsum(part.u**2 for part in self.components))

    @property
    def dof(self) -> float:
        """Effective degrees of freedom (Welch-Satterthwaite; JCGM 100, G.4.1)."""
        return effective_dof([(part.u, part.dof) for part in self.components])

    def interval(self, value: float, p: float = COVERAGE) -> tuple[float, float, float]:
        """Coverage factor, and the two ends of the coverage interval of probability `p`."""
        k = coverage_factor(self.dof, p)
        return k, value - k * self.u, value + k * self.u


def effective_dof(parts: Sequence[tuple[float, float]]) -> float:
    """Welch-Satterthwaite: u^4 / sum(u_i^4 / nu_i); infinite where no component has finite degrees of freedom.

    >>> round(effective_dof([(25, 18), (9.7, 25.6), (2.9, 50), (16.6, 2)]), 1)
    16.8
    """
    total = math.fsum(u * u for u, _ in parts) ** 2
    below = math.fsum(u**4 / nu for u, nu in parts if math.isfinite(nu))
    return total / below if below > 0 else math.inf


def coverage_factor(dof: float, p: float = COVERAGE) -> float:
    """Two-sided Student factor; the degrees of freedom are truncated to a whole number (JCGM 100, G.4.1).

    >>> round(coverage_factor(16.7, 0.99), 3)
    2.921
    """
    from scipy import special  # type: ignore[import-untyped]

    if not 0 < p < 1:
        raise ValueError(f"coverage probability {p} lies outside 0..1")
    half = (1 + p) / 2
    return float(special.ndtri(half) if math.isinf(dof) else special.stdtrit(max(1, math.floor(dof)), half))


def rectangular(half_width: float) -> float:
    """Standard uncertainty of a rectangular distribution of this half-width (JCGM 100, 4.3.7)."""
    return half_width / math.sqrt(3)


def dof_of_doubt(relative: float) -> float:
    """Degrees of freedom of an uncertainty that is itself known to a relative part (JCGM 100, G.4.2, G.3).

    >>> dof_of_doubt(0.25)
    8.0
    """
    return 0.5 / relative**2 if relative > 0 else math.inf


def _finite(value: float) -> float | None:
    return value if math.isfinite(value) else None
