"""Quantities: a number never travels without its unit, nor a measured one without its uncertainty.

`parse` reads what a person writes (`14 s`, `7 s each`, `38.2 ± 0.1 g`) into a `Quantity` in the unit written;
`Quantity.si` gives the exact value in the base unit of its dimension (s, g, mm, V, mAh, Wh, °C, %).
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal
from types import MappingProxyType
from typing import Final

#: unit -> (dimension, factor to the dimension's base unit)
UNITS: Final = MappingProxyType(
    {
        "s": ("time", Decimal(1)),
        "ms": ("time", Decimal("0.001")),
        "min": ("time", Decimal(60)),
        "h": ("time", Decimal(3600)),
        "g": ("mass", Decimal(1)),
        "mg": ("mass", Decimal("0.001")),
        "kg": ("mass", Decimal(1000)),
        "mm": ("length", Decimal(1)),
        "µm": ("length", Decimal("0.001")),
        "cm": ("length", Decimal(10)),
        "m": ("length", Decimal(1000)),
        "V": ("voltage", Decimal(1)),
        "mV": ("voltage", Decimal("0.001")),
        "mAh": ("charge", Decimal(1)),
        "Ah": ("charge", Decimal(1000)),
        "Wh": ("energy", Decimal(1)),
        "mWh": ("energy", Decimal("0.001")),
        "°C": ("temperature", Decimal(1)),
        "mm²": ("area", Decimal(1)),
        "cm²": ("area", Decimal(100)),
        "°": ("angle", Decimal(1)),
        "%": ("share", Decimal(1)),
    }
)
BASE: Final = MappingProxyType(
    {
        "time": "s",
        "mass": "g",
        "length": "mm",
        "voltage": "V",
        "charge": "mAh",
        "energy": "Wh",
        "temperature": "°C",
        "area": "mm²",
        "angle": "°",
        "share": "%",
    }
)

_NUMBER: Final = r"\d{1,12}(?:\.\d{1,9})?"
_FORM: Final = re.compile(
    rf"(?P<value>-?{_NUMBER})(?: ?(?:±|\+/-) ?(?P<u>{_NUMBER}))? ?(?P<unit>%|[A-Za-zµμ°²]+)(?P<each> each)?",
    re.ASCII,
)


class QuantityError(ValueError):
    """A text that is no quantity of the wanted dimension; the message says what to write instead."""


@dataclass(frozen=True, slots=True)
class Quantity:
    """A value with its unit, its standard uncertainty in the same unit (None: not assessed) and `each`."""

    value: Decimal
    unit: str
    u: Decimal | None = None
    each: bool = False

    @property
    def dimension(self) -> str:
        """Name of the dimension, such as `time`."""
        return UNITS[self.unit][0]

    @property
    def si(self) -> Decimal:
        """Exact value in the base unit of the dimension (s, g, mm, V, mAh, Wh, °C, %)."""
        return self.value * UNITS[self.unit][1]

    @property
    def u_si(self) -> Decimal | None:
        """Standard uncertainty in the base unit of the dimension; None where it was not assessed."""
        return None if self.u is None else self.u * UNITS[self.unit][1]

    def __str__(self) -> str:
        """Give the text that `parse` reads back."""
        pm = "" if self.u is None else f" ± {self.u:f}"
        return f"{self.value:f}{pm} {self.unit}{' each' if self.each else ''}"


def units_of(dimension: str) -> list[str]:
    """Units in which a quantity of this dimension may be written."""
    return [unit for unit, (name, _) in UNITS.items() if name == dimension]


def pattern(dimension: str, *, each: bool = False, signed: bool = False) -> str:
    """Regular expression (ECMA and Python) of what `parse` accepts; used in the JSON Schema."""
    units = "|".join([*units_of(dimension), *(["μm"] if dimension == "length" else [])])
    sign = "-?" if signed else ""
    return rf"^{sign}[0-9]{{1,12}}(\.[0-9]{{1,9}})?( ?(±|\+/-) ?[0-9]{{1,12}}(\.[0-9]{{1,9}})?)? ?({units})" + (
        "( each)?$" if each else "$"
    )


def parse(text: object, dimension: str, *, each: bool = False, signed: bool = False) -> Quantity:
    """Read a quantity of `dimension`; raise `QuantityError` that says what is wrong and what to write.

    Only a coordinate (`signed`) may lie below zero.

    >>> parse("38.2 ± 0.1 g", "mass").u
    Decimal('0.1')
    >>> parse("7 s each", "time", each=True).each
    True
    """
    units = ", ".join(units_of(dimension))
    example = f"{'14' if dimension == 'time' else '5'} {BASE[dimension]}"
    if not isinstance(text, str):
        raise QuantityError(f"{text!r} has no unit; write a {dimension} as text with unit, such as {example!r}")
    found = _FORM.fullmatch(text)
    if found is None:
        raise QuantityError(f"{text!r} is no {dimension}; write a number and a unit ({units}), such as {example!r}")
    if found["value"].startswith("-") and not signed:
        raise QuantityError(f"{text!r} lies below zero; write the {dimension} without a sign")
    unit = found["unit"].replace("μ", "µ")
    if unit not in UNITS or UNITS[unit][0] != dimension:
        raise QuantityError(f"{unit!r} is no unit of {dimension}; use one of {units}")
    if found["each"] and not each:
        raise QuantityError(f"{text!r}: 'each' belongs to the time of a way only; write the whole {dimension}")
    return Quantity(Decimal(found["value"]), unit, Decimal(found["u"]) if found["u"] else None, bool(found["each"]))
