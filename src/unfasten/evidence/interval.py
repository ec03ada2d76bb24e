"""Exact intervals: a figure that is not known yet lies between `low` and `high`; it is a number when the two meet."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Final

_DECIMAL: Final = re.compile(r"-?\d{1,40}(\.\d{1,40})?", re.ASCII)
_TEN: Final = 10


@dataclass(frozen=True, slots=True)
class Interval:
    """A closed interval of exact numbers, `low` not above `high`; its unit is that of the figure it stands for."""

    low: Fraction
    high: Fraction

    def __post_init__(self) -> None:
        if self.low > self.high:
            raise ValueError(f"interval from {self.low} down to {self.high}")

    @property
    def is_known(self) -> bool:
        """Tell whether the figure is a number."""
        return self.low == self.high

    @property
    def width(self) -> Fraction:
        """What is still open."""
        return self.high - self.low

    def __add__(self, other: Interval) -> Interval:
        return Interval(self.low + other.low, self.high + other.high)

    def scaled(self, factor: Fraction) -> Interval:
        """The interval times a factor that is not negative."""
        if factor < 0:
            raise ValueError(f"factor {factor} is negative")
        return Interval(self.low * factor, self.high * factor)

    def holds(self, other: Interval) -> bool:
        """Tell whether `other` lies inside."""
        return self.low <= other.low and other.high <= self.high

    def as_json(self) -> dict[str, str]:
        """Exact decimal texts under `low` and `high`."""
        return {"low": decimal_text(self.low), "high": decimal_text(self.high)}

    def __str__(self) -> str:
        """`3.41` where known, else `3.11 to 3.41`."""
        low = decimal_text(self.low)
        return low if self.is_known else f"{low} to {decimal_text(self.high)}"


def known(value: Fraction | int) -> Interval:
    """The interval of a known number."""
    return Interval(Fraction(value), Fraction(value))


def hull(intervals: Iterable[Interval]) -> Interval:
    """The smallest interval that holds all of them; `ValueError` if there is none."""
    items = list(intervals)
    return Interval(min(i.low for i in items), max(i.high for i in items))


def lowest(intervals: Iterable[Interval]) -> Interval:
    """The interval of the least of the figures: least of the lows to least of the highs; `ValueError` if none."""
    items = list(intervals)
    return Interval(min(i.low for i in items), min(i.high for i in items))


def exact(value: object) -> Fraction:
    """Read a number exactly as it is written (int, Decimal, decimal text, or a float's shortest text).

    Raises `ValueError` for anything else, truth values included.

    >>> exact("2.4575")
    Fraction(983, 400)
    """
    if isinstance(value, bool) or not isinstance(value, int | float | Decimal | str | Fraction):
        raise ValueError(f"{value!r} is no number")
    if isinstance(value, Fraction):
        return value
    text = str(value)
    if not _DECIMAL.fullmatch(text):
        raise ValueError(f"{value!r} is no decimal number")
    return Fraction(text)


def decimal_text(value: Fraction, places: int = 2) -> str:
    """The exact decimal text with at least `places` decimals; `ValueError` if it has no end.

    >>> decimal_text(Fraction(983, 400)), decimal_text(Fraction(5))
    ('2.4575', '5.00')
    """
    while _TEN**places % value.denominator:
        places += 1
        if places > value.denominator.bit_length() * 2 + 2:
            raise ValueError(f"{value} has no exact decimal text")
    digits = str(abs(value.numerator) * (_TEN**places // value.denominator)).rjust(places + 1, "0")
    sign = "-" if value < 0 else ""
    return f"{sign}{digits[:-places]}.{digits[-places:]}" if places else f"{sign}{digits}"


def short_text(value: Fraction) -> str:
    """The exact decimal text without needless zeros, for weights, limits and points.

    >>> short_text(Fraction(5)), short_text(Fraction(3, 10))
    ('5', '0.3')
    """
    return decimal_text(value, 0)


def round_half_up(value: Fraction, places: int) -> Fraction:
    """The value rounded to `places` decimals, a half away from below (3.345 becomes 3.35)."""
    return Fraction(math.floor(value * _TEN**places + Fraction(1, 2)), _TEN**places)
