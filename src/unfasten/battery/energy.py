"""Energy of a battery: what its label says, what nominal voltage times rated capacity gives, and whether the two agree.

Energy is nominal voltage times rated capacity (as transport rules define it); the charge limit would inflate it.
A printed figure stands for all values that round to it; one with a standard uncertainty for twice that to either side.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Final

from unfasten.evidence.interval import Interval
from unfasten.evidence.quantity import UNITS, Quantity
from unfasten.record.part import Battery

#: coverage factor of a figure with uncertainty: about 95 % (JCGM 100, 6.2; our choice)
COVERAGE: Final = 2
_MAH: Final = 1000


@dataclass(frozen=True, slots=True)
class Energy:
    """Energy of a battery [Wh]: as marked, as computed from nominal voltage, and from the charge limit.

    Each is an interval of what the printed figures allow, or None. `verdict`: agrees, charge-voltage (the mark fits the
    charge limit instead), differs, or unknown. `product` is nominal voltage times rated
    capacity as they stand, `value` what to go by: the mark where there is one.
    """

    marked: Interval | None
    computed: Interval | None
    from_charge: Interval | None
    product: Fraction | None
    value: Fraction | None
    origin: str | None
    verdict: str
    says: str
    look: str | None = None

    @property
    def span(self) -> Interval | None:
        """Energy to judge by [Wh]: one figure, or from the mark to the product where the two contradict each other."""
        if self.value is None:
            return None
        if self.verdict in ("agrees", "unknown") or self.product is None:
            return Interval(self.value, self.value)
        return Interval(min(self.value, self.product), max(self.value, self.product))


def spread(quantity: Quantity) -> Interval:
    """What a written figure stands for, in the base unit: half a unit of its last place, or twice its uncertainty."""
    exponent = quantity.value.as_tuple().exponent
    half = Decimal(5).scaleb((exponent if isinstance(exponent, int) else 0) - 1) * UNITS[quantity.unit][1]
    reach = half if quantity.u_si is None else max(half, COVERAGE * quantity.u_si)
    return Interval(Fraction(max(Decimal(0), quantity.si - reach)), Fraction(quantity.si + reach))


def energy_of(battery: Battery) -> Energy:
    """Compare the marked energy with nominal voltage times rated capacity."""
    mark = battery.marked_energy
    marked = None if mark is None else spread(mark)
    computed = _product(battery.nominal_voltage, battery.rated_capacity)
    charged = _product(battery.charge_voltage, battery.rated_capacity)
    product = _middle(battery.nominal_voltage, battery.rated_capacity)
    value = product if mark is None else Fraction(mark.si)
    origin = "computed" if mark is None else "label"
    verdict, says, look = _compare(battery, marked, computed, charged)
    return Energy(marked, computed, charged, product, value, None if value is None else origin, verdict, says, look)


def _product(voltage: Quantity | None, capacity: Quantity | None) -> Interval | None:
    if voltage is None or capacity is None:
        return None
    one, two = spread(voltage), spread(capacity)
    return Interval(one.low * two.low / _MAH, one.high * two.high / _MAH)


def _middle(voltage: Quantity | None, capacity: Quantity | None) -> Fraction | None:
    if voltage is None or capacity is None:
        return None
    return Fraction(voltage.si) * Fraction(capacity.si) / _MAH


def _compare(
    battery: Battery, marked: Interval | None, computed: Interval | None, charged: Interval | None
) -> tuple[str, str, str | None]:
    exact = _middle(battery.nominal_voltage, battery.rated_capacity)
    if computed is None or exact is None:
        missing = " and ".join(
            name
            for name, value in (
                ("nominal voltage", battery.nominal_voltage),
                ("rated capacity", battery.rated_capacity),
            )
            if value is None
        )
        return "unknown", f"energy cannot be recomputed without the {missing}", f"read the {missing} on the label"
    sum_text = f"{battery.nominal_voltage} x {battery.rated_capacity} = {wh(exact)} Wh"
    if marked is None or battery.marked_energy is None:
        return "unknown", f"{sum_text}; no energy is marked", "look for the Wh rating on the label"
    if _meet(marked, computed):
        return "agrees", f"{sum_text}; the mark agrees within the rounding of the label", None
    if charged is not None and _meet(marked, charged):
        says = f"{sum_text}, but {battery.marked_energy} is what the charge limit of {battery.charge_voltage} gives"
        return "charge-voltage", says, "read the label again: which voltage is nominal, which is the charge limit?"
    off = (Fraction(battery.marked_energy.si) / exact - 1) * 100 if exact else None
    by = "" if off is None else f" by {float(off):+.1f} %"
    says = f"{sum_text}; the mark of {battery.marked_energy} differs{by}, more than rounding explains"
    return "differs", says, "read the label again: nominal voltage, rated capacity and energy"


def _meet(one: Interval, two: Interval) -> bool:
    return one.low <= two.high and two.low <= one.high


def wh(value: Fraction) -> str:
    """Energy as text with up to three decimals [Wh]."""
    return f"{float(value):.3f}".rstrip("0").rstrip(".")
