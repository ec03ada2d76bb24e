"""Which package outlines a measured body can be; several outlines of one size stay together in the set.

Sources print nominal sizes. `BODY_SPREAD` is our allowance for the body itself, a common limit of moulded packages.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date
from typing import Final

from unfasten.evidence.errors import CallError
from unfasten.evidence.quantity import QuantityError, parse
from unfasten.photo.identify.figures import number, rows, word
from unfasten.photo.identify.window import COVERAGE_FACTOR, Measured, Window, agreement, measured

#: how far a body may lie from its nominal size [mm]; our allowance, common practice
BODY_SPREAD: Final = 0.1
_BY: Final = re.compile(r"\s*[x×]\s*", re.IGNORECASE)
_UNIT: Final = re.compile(r"(?P<number>[\d.]+)(?:\s*(?:±|\+/-)\s*(?P<u>[\d.]+))?\s*(?P<unit>[^\W\d]*)")


@dataclass(frozen=True, slots=True)
class Package:
    """A package outline: nominal `width` and `length` [mm], width the shorter; `pitch` [mm] where it was read."""

    name: str
    kind: str
    balls: int
    width: float
    length: float
    pitch: float | None
    source: str
    confidence: str

    def as_json(self) -> dict[str, object]:
        """The outline in mm."""
        return {
            "name": self.name,
            "kind": self.kind,
            "balls": self.balls,
            "size_mm": [self.width, self.length],
            "pitch_mm": self.pitch,
            "source": self.source,
            "confidence": self.confidence,
        }


@dataclass(frozen=True, slots=True)
class PackageSet:
    """What a body can be; `near` just misses."""

    width: Measured
    length: Measured
    k: float
    candidates: tuple[Package, ...]
    near: tuple[Package, ...]
    says: tuple[str, ...]

    def agreement(self, package: Package) -> float:
        """How well the sides agree with a package [%] (`window.agreement`), our allowance for the body included."""
        return _agreement(package, self.width, self.length, self.k)

    def as_json(self) -> dict[str, object]:
        """Everything in JSON."""
        return {
            "size_mm": [{"value": side.value, "u": side.u} for side in (self.width, self.length)],
            "k": self.k,
            "spread_mm": BODY_SPREAD,
            "candidates": [
                {**package.as_json(), "agreement_percent": round(self.agreement(package), 1)}
                for package in self.candidates
            ],
            "near": [package.as_json() for package in self.near],
            "says": list(self.says),
        }


def packages_for(
    one: Measured, other: Measured, day: date, balls: int | None = None, k: float = COVERAGE_FACTOR
) -> PackageSet:
    """The outlines that a body of these two sides can be, whichever is longer, those that agree best first.

    `balls` None: not counted.
    """
    width, length = sorted((one, other), key=lambda side: side.value)
    every = [package for package in known_packages(day) if balls in (None, package.balls)]
    fits = sorted(
        (package for package in every if _may_be(package, width, length, k, BODY_SPREAD)),
        key=lambda package: -round(_agreement(package, width, length, k), 6),
    )
    near = [p for p in every if p not in fits and _may_be(p, width, length, 2 * k, 3 * BODY_SPREAD)]
    says = []
    if not fits:
        says.append("no outline of the table has this size; the table holds memory packages only")
    if len(fits) > 1:
        says.append("several outlines have this size; count the balls or read the marking")
    says.append(f"a body may lie {BODY_SPREAD:g} mm off its nominal size either way (our allowance)")
    return PackageSet(width, length, k, tuple(fits), tuple(near), tuple(says))


def known_packages(day: date) -> tuple[Package, ...]:
    """Every outline of the table."""
    return tuple(
        Package(
            word(row, "name"),
            word(row, "kind"),
            int(number(row, "balls")),
            number(row, "width"),
            number(row, "length"),
            number(row, "pitch") if "pitch" in row else None,
            table.cite.doc,
            table.confidence,
        )
        for table, row in rows("packages.memory", day)
    )


def read_size(text: str) -> tuple[Measured, Measured]:
    """Read `11.52 ± 0.05 x 13.01 ± 0.05 mm`; what the first side lacks is taken from the second.

    Raises `CallError` if it is no size, or its uncertainty is missing.

    >>> [side.u for side in read_size("11.5 x 13 ± 0.05 mm")]
    [0.05, 0.05]
    """
    sides = _BY.split(text.strip())
    found = [_UNIT.fullmatch(side) for side in sides]
    if len(sides) != 2 or found[0] is None or found[1] is None:
        raise _no_size(text, "two lengths with an x between them are wanted")
    first, second = found[0], found[1]
    u, unit = first["u"] or second["u"], first["unit"] or second["unit"]
    pm = "" if u is None else f" ± {u}"
    try:
        whole = [parse(f"{first['number']}{pm} {unit}", "length"), parse(sides[1], "length")]
    except QuantityError as error:
        raise _no_size(text, str(error)) from error
    return measured(whole[0], "the first side"), measured(whole[1], "the second side")


def _no_size(text: str, why: str) -> CallError:
    return CallError("identify.no-size", repr(text), why, "write it as '11.52 x 13.01 ± 0.05 mm'")


def _agreement(package: Package, width: Measured, length: Measured, k: float) -> float:
    return agreement([(around(package.width), width), (around(package.length), length)], k)


def around(nominal: float) -> Window:
    """Limits of a side of a body, our allowance either way [mm]."""
    return Window(nominal - BODY_SPREAD, nominal + BODY_SPREAD)


def _may_be(package: Package, width: Measured, length: Measured, k: float, spread: float) -> bool:
    pairs = ((package.width, width), (package.length, length))
    return all(Window(nominal - spread, nominal + spread).may_be(side, k) for nominal, side in pairs)
