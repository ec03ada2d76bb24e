"""A reading: what was measured, with its uncertainty, its coverage interval and its budget."""

from __future__ import annotations

import math
from dataclasses import dataclass

from unfasten.photo.budget import COVERAGE, Budget


@dataclass(frozen=True, slots=True)
class Reading:
    """A measured value [unit] with its budget and the coverage probability of its interval."""

    name: str
    value: float
    unit: str
    budget: Budget
    p: float = COVERAGE

    @property
    def u(self) -> float:
        """Combined standard uncertainty [unit]."""
        return self.budget.u

    @property
    def k(self) -> float:
        """Coverage factor of the interval."""
        return self.budget.interval(self.value, self.p)[0]

    @property
    def interval(self) -> tuple[float, float]:
        """Ends of the coverage interval [unit]."""
        _, low, high = self.budget.interval(self.value, self.p)
        return low, high

    def holds(self, truth: float) -> bool:
        """Tell whether the coverage interval holds a value [unit]."""
        low, high = self.interval
        return low <= truth <= high

    def as_json(self) -> dict[str, object]:
        """Give the JSON form."""
        k, low, high = self.budget.interval(self.value, self.p)
        dof = self.budget.dof
        return {
            "name": self.name,
            "value": self.value,
            "unit": self.unit,
            "u": self.u,
            "interval": {"low": low, "high": high, "p": self.p},
            "k": k,
            "dof": dof if math.isfinite(dof) else None,
            "budget": [part.as_json() for part in self.budget.components],
            "text": self.text,
        }

    @property
    def text(self) -> str:
        """Value and standard uncertainty, rounded to two digits of the uncertainty (JCGM 100, 7.2.6).

        `61.53 ± 0.08 mm`: the form in which a record holds a quantity.
        """
        places = places_of(self.u)
        return f"{self.value:.{places}f} ± {round_up(self.u, places):.{places}f} {self.unit}"


def places_of(u: float) -> int:
    """Decimals that show two digits of an uncertainty, at most nine.

    >>> places_of(0.083), places_of(12.3), places_of(0.0)
    (3, 0, 3)
    """
    return 3 if u <= 0 or not math.isfinite(u) else min(9, max(0, 1 - math.floor(math.log10(u))))


def round_up(u: float, places: int) -> float:
    """An uncertainty rounded up to `places` decimals, unless less than a twentieth of the last place is lost."""
    unit = 10.0**-places
    return math.ceil(u / unit - 0.05) * unit
