"""Comparing a measured length with the limits of a size: what cannot be told apart stays in the set."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

from unfasten.evidence.errors import CallError
from unfasten.evidence.quantity import Quantity

#: limits are widened by so many standard uncertainties; 2 gives about 95 % coverage (JCGM 100, 6.3.3)
COVERAGE_FACTOR: Final = 2.0


def agreement(pairs: Iterable[tuple[Window, Measured]], k: float = COVERAGE_FACTOR) -> float:
    """How well lengths agree with the limits of a size [%], the worst of them: 100 within its limits.

    Outside it is the share of readings that would lie at least so far out if the true length were at the nearest limit,
    of a normal distribution whose `k` standard uncertainties hold about 95 % (JCGM 100, 6.3.3): 4.6 % where limits
    widened by `k` end. It ranks sizes, and is no probability that one of them is the right one.

    >>> round(agreement([(Window(1.886, 1.981), Measured(1.99, 0.009))]), 1)
    31.7
    """
    worst = max((window.outside(length.value) / length.u for window, length in pairs), default=0.0)
    return 100 * math.erfc(worst * COVERAGE_FACTOR / k / math.sqrt(2))


@dataclass(frozen=True, slots=True)
class Measured:
    """A length and its standard uncertainty, both in mm."""

    value: float
    u: float

    @property
    def text(self) -> str:
        """Value and uncertainty, the latter to two figures, as `1.580 ± 0.020 mm`."""
        places = places_for(self.u)
        return f"{self.value:.{places}f} ± {self.u:.{places}f} mm"


@dataclass(frozen=True, slots=True)
class Window:
    """Least and greatest true length of a size [mm]."""

    low: float
    high: float

    def outside(self, value: float) -> float:
        """How far a length lies outside [mm]; 0 inside."""
        return max(self.low - value, value - self.high, 0.0)

    def may_be(self, length: Measured, k: float = COVERAGE_FACTOR) -> bool:
        """Tell whether the length reaches the window when `k` standard uncertainties are allowed for."""
        return self.outside(length.value) <= k * length.u * (1 + 1e-9)

    @property
    def text(self) -> str:
        """Both ends in mm."""
        return f"{self.low:.3f} to {self.high:.3f} mm"


def measured(quantity: Quantity, what: str) -> Measured:
    """The length in mm; raises `CallError` where its uncertainty is missing or it is no length of a thing.

    Without an uncertainty nothing can be excluded, so none is assumed.
    """
    if quantity.u_si is None or quantity.u_si == 0:
        example = f"{quantity.value:f} ± 0.02 {quantity.unit}"
        message = (
            "its standard uncertainty is missing" if quantity.u_si is None else "no reading has an uncertainty of 0"
        )
        raise CallError("identify.no-uncertainty", what, message, f"write it as '{example}'")
    length = Measured(float(quantity.si), float(quantity.u_si))
    if length.value <= 0:
        raise CallError("identify.no-length", what, "a length is more than 0", "measure it again")
    return length


def rounded(percent: float | None) -> float | None:
    """A share to a tenth of a percent; None stays unknown."""
    return None if percent is None else round(percent, 1)


def places_for(u: float) -> int:
    """Decimals that show two figures of an uncertainty, at most 6."""
    return min(6, max(0, 1 - math.floor(math.log10(u)))) if u > 0 else 3
