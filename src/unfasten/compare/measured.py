"""A measured difference and whether it exceeds its uncertainty."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Final, Literal

from unfasten.evidence.quantity import Quantity

#: coverage factor of an expanded uncertainty U = k u (JCGM 100:2008, 6.3: k in the range 2 to 3; 2 is about 95 %)
COVERAGE: Final = Decimal(2)

Beyond = Literal["exceeds", "within", "not-assessed"]


@dataclass(frozen=True, slots=True)
class Change:
    """The difference of two measured values in the base unit of their dimension.

    `u` is its standard uncertainty, the root of the sum of squares of the two (JCGM 100:2008, 5.1.2, uncorrelated);
    None where one of them was not assessed. `beyond` says whether |delta| is greater than `k` u.
    """

    before: Quantity
    after: Quantity
    delta: Decimal
    u: Decimal | None
    k: Decimal = COVERAGE

    @property
    def beyond(self) -> Beyond:
        """Whether the difference exceeds its expanded uncertainty."""
        if self.u is None:
            return "not-assessed"
        return "exceeds" if abs(self.delta) > self.k * self.u else "within"

    @property
    def ratio(self) -> Decimal:
        """The relative difference, of the larger value [1]; the same seen from either side."""
        largest = max(abs(self.before.si), abs(self.after.si))
        return abs(self.delta) / largest if largest else Decimal(0)

    def says(self) -> str:
        """One sentence for a table.

        >>> from unfasten.evidence.quantity import parse
        >>> change_of(parse("1.3 ± 0.1 g", "mass"), parse("1.4 ± 0.1 g", "mass")).says()
        '+0.1 ± 0.14 g: within 2 u'
        """
        unit = _unit(self.before)
        shown = f"{self.delta.normalize():+f}" if self.delta else "0"
        if self.u is None:
            return f"{shown} {unit}: uncertainty not assessed"
        verdict = "exceeds" if self.beyond == "exceeds" else "within"
        return f"{shown} ± {_short(self.u)} {unit}: {verdict} {self.k:f} u"

    def mirrored(self) -> Change:
        """The same seen from the other side."""
        return Change(self.after, self.before, -self.delta, self.u, self.k)


def change_of(before: Quantity, after: Quantity, k: Decimal = COVERAGE) -> Change:
    """Compare two quantities of one dimension."""
    return Change(before, after, after.si - before.si, combined(before.u_si, after.u_si), k)


def combined(first: Decimal | None, second: Decimal | None) -> Decimal | None:
    """Standard uncertainty of a sum or difference; None where one is not assessed."""
    return None if first is None or second is None else (first * first + second * second).sqrt()


def _short(value: Decimal) -> str:
    """Two significant digits."""
    return f"{float(value):.2g}"


def _unit(quantity: Quantity) -> str:
    from unfasten.evidence.quantity import BASE

    return BASE[quantity.dimension]
