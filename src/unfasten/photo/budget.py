"""Uncertainty budgets after JCGM 100: components, effective degrees of freedom, coverage intervals.

A component is normal (Student's where its degrees of freedom are finite) unless it carries its own distribution: a
limit of error that is rectangular, or a camera that leans anywhere within a cone. Those are joined with the normal part
by convolution (JCGM 100, G.1.4; JCGM 101, 5.2), for a factor of 1.96 would make their intervals hold too often.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal

from unfasten.photo.convolve import half_width

#: coverage probability of stated intervals
COVERAGE: Final = 0.95

Evaluation = Literal["A", "B"]
#: the doubt of how well a person picks, whatever is picked
CARE: Final = "care"


@dataclass(frozen=True, slots=True)
class Component:
    """One line of a budget: `u` is its contribution to the result, in the unit of the result (JCGM 100, 5.1.3).

    `dof` is infinite where the component is taken as exactly known (JCGM 100, G.4.3). `errors` is its distribution
    where it is not normal: sets of equally likely errors [unit of the result], each independent of the others.
    Components of one `doubt` rest on one estimate of variance, such as the care of the person who picks.
    """

    name: str
    u: float
    dof: float
    evaluation: Evaluation
    says: str = ""
    errors: tuple[tuple[float, ...], ...] = ()
    doubt: str = ""

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
        return effective_dof(_pooled(self.components))

    def interval(self, value: float, p: float = COVERAGE) -> tuple[float, float, float]:
        """Coverage factor, and the two ends of the coverage interval of probability `p`."""
        k = self.factor(p)
        return k, value - k * self.u, value + k * self.u

    def factor(self, p: float = COVERAGE) -> float:
        """Coverage factor: Student's by the effective degrees of freedom where all components are normal."""
        shaped = [errors for part in self.components for errors in part.errors]
        if self.u == 0 or not any(any(errors) for errors in shaped):
            return coverage_factor(self.dof, p)
        normal = [part for part in self.components if not part.errors]
        u = math.sqrt(math.fsum(part.u**2 for part in normal))
        return half_width(shaped, u, _whole(effective_dof(_pooled(normal))), p) / self.u


def _pooled(components: Sequence[Component]) -> list[tuple[float, float]]:
    """Components of one doubt as one: their estimated variances rise and fall together, so their doubts add linearly.

    With relative doubt of a variance sqrt(2 / nu): sqrt(2 / nu) u^2 = sum(sqrt(2 / nu_i) u_i^2).
    """
    apart = [(part.u, part.dof) for part in components if not part.doubt]
    for doubt in sorted({part.doubt for part in components if part.doubt}):
        alike = [part for part in components if part.doubt == doubt]
        square = math.fsum(part.u**2 for part in alike)
        root = math.fsum(part.u**2 / math.sqrt(part.dof) for part in alike)
        apart.append((math.sqrt(square), (square / root) ** 2 if root > 0 else math.inf))
    return apart


def _whole(dof: float) -> float:
    return dof if math.isinf(dof) else float(max(1, math.floor(dof)))


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
    return float(special.ndtri(half) if math.isinf(dof) else special.stdtrit(_whole(dof), half))


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
