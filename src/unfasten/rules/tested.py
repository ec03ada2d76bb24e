"""What test figures say: capacity between readings, cycles at a share, digits of an IP code."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from typing import Final

from unfasten.evidence.interval import Interval
from unfasten.evidence.quantity import Quantity
from unfasten.record.testfigures import Capacity

#: the whole of the rated capacity, and the widest plausible share of it [%]
_NONE: Final = Fraction(0)
_MOST: Final = Fraction(200)
#: coverage factor of an interval around a measured value (common practice: about 95 % of a normal distribution)
COVERAGE: Final = 2
_SECONDS: Final = 3600


def spread(quantity: Quantity) -> Interval:
    """A measured value with twice its standard uncertainty on either side, in the base unit; bare without one."""
    value, u = Fraction(quantity.si), Fraction(quantity.u_si or 0)
    return Interval(max(value - COVERAGE * u, Fraction(0)), value + COVERAGE * u)


def capacity_after(readings: Sequence[Capacity], cycles: Fraction | int) -> Interval | None:
    """Capacity left after so many cycles [%], if it never rises; None without a reading that bounds it."""
    spans = [(reading.cycles, spread(reading.left)) for reading in readings]
    later = [span.low for count, span in spans if count >= cycles]
    earlier = [span.high for count, span in spans if count <= cycles]
    if not later and not earlier:
        return None
    low, high = max(later, default=_NONE), min(earlier, default=_MOST)
    return Interval(min(low, high), max(low, high))


def cycles_above(readings: Sequence[Capacity], share: Fraction) -> tuple[int, int | None]:
    """Most cycles with the capacity surely at or above the share, and fewest with it surely below (None: open)."""
    spans = [(reading.cycles, spread(reading.left)) for reading in readings]
    surely = max((count for count, span in spans if span.low >= share), default=0)
    below = [count for count, span in spans if span.high < share and count > surely]
    return surely, min(below, default=None)


def ingress_digits(code: str | None) -> tuple[int | None, int | None]:
    """The two digits of an IP code; None where there is no code or the digit is X.

    >>> ingress_digits("IP6X"), ingress_digits(None)
    ((6, None), (None, None))
    """
    if code is None:
        return None, None
    first, second = (None if digit == "X" else int(digit) for digit in code.removeprefix("IP"))
    return first, second


def hours(time: Quantity) -> Interval:
    """A measured time with twice its standard uncertainty on either side [h]."""
    return spread(time).scaled(Fraction(1, _SECONDS))
