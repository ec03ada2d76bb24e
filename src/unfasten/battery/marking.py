"""The designation on a battery's label: every reading of it, since the digits alone do not say which scheme was meant.

Schemes: the designation of IEC 61960 (whole millimetres, rounded up, between slashes), the older form without slashes,
and trade codes for pouch and round cells (thickness in tenths, or whole millimetres).
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from types import MappingProxyType
from typing import Final

#: scheme -> how its digits are to be read
SCHEMES: Final = MappingProxyType(
    {
        "iec-61960": "IEC 61960: whole mm, rounded up, between slashes",
        "iec-older": "older IEC form: whole mm side by side, height of a round cell in tenths",
        "trade-tenths": "trade code: thickness in tenths of mm, then width and height in mm",
        "trade-whole": "trade code: whole mm, two digits each",
        "trade-round": "trade code of a round cell: diameter in mm, height in tenths of mm",
    }
)
POSITIVE: Final = MappingProxyType({"C": "cobalt", "N": "nickel", "M": "manganese", "V": "vanadium", "T": "titanium"})
NEGATIVE: Final = MappingProxyType({"I": "lithium-ion", "L": "lithium-metal"})

_BATTERY: Final = re.compile(
    r"(?P<series>\d{1,3})?(?P<a1>[IL])(?P<a2>[A-Z])(?P<a3>[RP])(?P<body>[\dt/]+)(?:-(?P<suffix>[0-9A-Z]{1,6}))?"
)
_MOST_PARALLEL: Final = 200
_FIELD: Final = re.compile(r"t[1-9]|[1-9]\d{0,2}")
_OLD_FIELD: Final = re.compile(r"t[1-9]|\d{2,3}")
_OLD_BODY: Final = re.compile(r"(t[1-9]|\d{2})(\d{2})(\d{2})")
_TRADE: Final = re.compile(r"(?:[A-Z]{0,4}[ -]?)?(\d{5,9})(?:[ -]?[A-Z]{0,3})?")


@dataclass(frozen=True, slots=True)
class Side:
    """One dimension of a cell as the label gives it [mm]; with `rounded_up` the true one is `below` smaller or less."""

    mm: Fraction
    below: Fraction = Fraction(0)

    @property
    def least(self) -> Fraction:
        """Smallest true dimension that the label allows [mm]; the label's own where it is not rounded."""
        return self.mm - self.below


@dataclass(frozen=True, slots=True)
class Marking:
    """One reading of a designation: dimensions of one cell, how many cells, and what the letters say.

    `sides` is thickness, width, height of a prismatic cell and diameter, height of a round one. `parallel` and `series`
    are None where the scheme does not tell. `positive` is None where the letter is not among those of the edition read.
    """

    scheme: str
    shape: str
    sides: tuple[Side, ...]
    series: int | None = None
    parallel: int | None = None
    chemistry: str | None = None
    positive: str | None = None
    letter: str | None = None

    @property
    def cells(self) -> int | None:
        """Cells in the battery; None where the scheme does not tell."""
        return None if self.series is None or self.parallel is None else self.series * self.parallel

    @property
    def size_text(self) -> str:
        """Dimensions of one cell as read, such as `5 x 59 x 92 mm`."""
        return " x ".join(f"{float(side.mm):g}" for side in self.sides) + " mm"


def markings(designation: str) -> tuple[Marking, ...]:
    """Every reading of a designation, in the order of the schemes; none if no scheme fits.

    >>> [(m.scheme, m.size_text) for m in markings("LP803450")]
    [('trade-tenths', '8 x 34 x 50 mm')]
    """
    text = designation.strip().upper().replace("T", "t")
    found = _BATTERY.fullmatch(text)
    readings = list(_lettered(found)) if found else list(_bare(text.replace("t", "T")))
    return tuple(dict.fromkeys(reading for reading in readings if all(side.mm for side in reading.sides)))


def _lettered(found: re.Match[str]) -> Iterator[Marking]:
    fields = found["body"].split("/")
    wanted = 2 if found["a3"] == "R" else 3
    counted = found["suffix"] is None or (found["suffix"].isdigit() and 0 < int(found["suffix"]) <= _MOST_PARALLEL)
    if counted and len(fields) == wanted and all(_FIELD.fullmatch(field) for field in fields):
        yield _reading(found, "iec-61960", tuple(_rounded_up(field) for field in fields))
    if len(fields) == wanted and wanted > 2 and all(_OLD_FIELD.fullmatch(field) for field in fields):
        yield _reading(found, "iec-older", tuple(_plain(field) for field in fields))
    if len(fields) == 1 and found["a3"] == "R" and re.fullmatch(r"\d{5}", fields[0]):
        yield _reading(found, "iec-older", (_plain(fields[0][:2]), Side(Fraction(fields[0][2:]) / 10)))
    old = _OLD_BODY.fullmatch(fields[0]) if len(fields) == 1 and found["a3"] == "P" else None
    if old:
        yield _reading(found, "iec-older", tuple(_plain(field) for field in old.groups()))
    if len(fields) == 1 and found["a3"] == "P" and fields[0].isdigit():
        yield from (
            _reading(found, reading.scheme, reading.sides)
            for reading in _bare(fields[0])
            if reading.shape == "prismatic"
        )


def _reading(found: re.Match[str], scheme: str, sides: tuple[Side, ...]) -> Marking:
    """A reading with the letters in front; the designation says one in parallel by saying nothing.

    Only IEC 61960 counts cells behind the hyphen; in other forms makers put what they like there.
    """
    suffix = found["suffix"]
    parallel = 1 if suffix is None else int(suffix) if scheme == "iec-61960" else None
    return Marking(
        scheme,
        "round" if found["a3"] == "R" else "prismatic",
        sides,
        int(found["series"] or 1),
        parallel,
        NEGATIVE[found["a1"]],
        POSITIVE.get(found["a2"]),
        found["a2"],
    )


def _bare(text: str) -> Iterator[Marking]:
    found = _TRADE.fullmatch(text)
    if found is None:
        return
    digits = found[1]
    for thick in (2, 3):
        for wide in (2, 3):
            high = len(digits) - thick - wide
            parts = (digits[:thick], digits[thick : thick + wide], digits[thick + wide :])
            if high in (2, 3) and not any(part.startswith("0") for part in parts[1:]) and int(parts[0]):
                yield _trade("trade-tenths", Fraction(parts[0]) / 10, parts[1:])
    if len(digits) == 6 and int(digits[:2]) and "0" not in (digits[2], digits[4]):
        yield _trade("trade-whole", Fraction(digits[:2]), (digits[2:4], digits[4:]))
    if len(digits) == 5 and not digits.startswith("0"):
        yield Marking("trade-round", "round", (Side(Fraction(digits[:2])), Side(Fraction(digits[2:]) / 10)))


def _trade(scheme: str, thickness: Fraction, others: tuple[str, ...]) -> Marking:
    return Marking(scheme, "prismatic", (Side(thickness), *(Side(Fraction(other)) for other in others)))


def _rounded_up(field: str) -> Side:
    return Side(Fraction(field[1:]) / 10, Fraction(1, 10)) if field[0] == "t" else Side(Fraction(field), Fraction(1))


def _plain(field: str) -> Side:
    return Side(Fraction(field[1:]) / 10) if field[0] == "t" else Side(Fraction(field))


def designate(
    chemistry: str, positive: str, shape: str, sides: tuple[Fraction, ...], series: int = 1, parallel: int = 1
) -> str:
    """Write the IEC 61960 designation (clause 5.1, edition 2.0) of a cell or battery from one cell's sides [mm].

    `sides` is diameter, height of a round cell, else thickness, width, height. Raises `ValueError` for an unknown word.

    >>> designate("lithium-ion", "nickel", "round", (Fraction("18.5"), Fraction("65.3")))
    'INR19/66'
    """
    letters = [_letter(NEGATIVE, chemistry), _letter(POSITIVE, positive), {"round": "R", "prismatic": "P"}[shape]]
    body = "/".join(_up(side) for side in sides)
    return f"{series if series > 1 else ''}{''.join(letters)}{body}{f'-{parallel}' if parallel > 1 else ''}"


def _letter(letters: MappingProxyType[str, str], word: str) -> str:
    found = [letter for letter, meaning in letters.items() if meaning == word]
    if not found:
        raise ValueError(f"no letter stands for {word!r}; use one of {', '.join(letters.values())}")
    return found[0]


def _up(side: Fraction) -> str:
    return f"t{-(-side * 10 // 1)}" if side < 1 else str(-(-side // 1))
