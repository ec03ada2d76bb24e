"""Which reading of a designation is likely: beside the size that was measured, and the energy that would be in it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from unfasten.battery.marking import SCHEMES, Marking

#: energy density of a cell that is plausible [Wh/L]. Our own bounds: the first commercial lithium-ion cell had 264,
#: mass-produced ones have 650 and more (Frith et al., Nat. Commun. 14:420, 2023), pouch data sheets give 336 to 434
PLAUSIBLE: Final = (Fraction(250), Fraction(850))
#: a pack may differ from its cells by this much and still fit (our own: wrap, seam and protection board)
SLACK_MM: Final = Fraction(1, 2)
SLACK: Final = Fraction(5, 100)
_MM3_PER_L: Final = 1_000_000
_MOST_CELLS: Final = 4


@dataclass(frozen=True, slots=True)
class Ranked:
    """A reading with what speaks for and against it: `density` in Wh/L, None where the energy is not known.

    `if_one`: the number of cells is not known, and the density is that of a single cell.
    """

    marking: Marking
    density: Fraction | None
    fits_size: bool | None
    says: tuple[str, ...]
    if_one: bool = False

    @property
    def plausible(self) -> bool | None:
        """Tell whether the density is plausible; None where it is not known."""
        return None if self.density is None else PLAUSIBLE[0] <= self.density <= PLAUSIBLE[1]

    @property
    def against(self) -> int:
        """How much speaks against it: 0 nothing; a size that does not fit weighs more than a density."""
        return 2 * (self.fits_size is False) + (self.plausible is False)

    def as_json(self) -> dict[str, object]:
        """Give the JSON form."""
        sides = [float(side.mm) for side in self.marking.sides]
        return {
            "scheme": self.marking.scheme,
            "shape": self.marking.shape,
            "cell_mm": sides,
            "series": self.marking.series,
            "parallel": self.marking.parallel,
            "chemistry": self.marking.chemistry,
            "positive": self.marking.positive,
            "wh_per_l": None if self.density is None else round(float(self.density), 1),
            "if_one_cell": self.if_one,
            "fits_size": self.fits_size,
            "against": self.against,
            "says": list(self.says),
        }


def rank(
    readings: Sequence[Marking], energy: Fraction | None, size: Sequence[Fraction] | None, cells: int | None
) -> tuple[Ranked, ...]:
    """Order the readings by what speaks against them: `energy` of the battery in Wh, `size` in mm, `cells` if known."""
    ranked = [_ranked(reading, energy, size, reading.cells or cells) for reading in readings]
    return tuple(sorted(ranked, key=lambda one: one.against))


def _ranked(reading: Marking, energy: Fraction | None, size: Sequence[Fraction] | None, cells: int | None) -> Ranked:
    density = None if energy is None else energy / ((cells or 1) * cell_volume(reading)) * _MM3_PER_L
    fits = None if size is None else fits_size(reading, size, cells)
    if_one = density is not None and cells is None
    return Ranked(reading, density, fits, tuple(_says(reading, density, fits, if_one)), if_one)


def cell_volume(reading: Marking) -> Fraction:
    """Volume of one cell as the smallest block around it [mm³]; the middle of what a rounded side allows."""
    sides = [(side.mm + side.least) / 2 for side in reading.sides]
    thickness, width, height = sides if len(sides) > 2 else (sides[0], sides[0], sides[1])
    return thickness * width * height


def fits_size(reading: Marking, size: Sequence[Fraction], cells: int | None) -> bool:
    """Tell whether the cells, in one row along any side, make up a pack of this size [mm], its sides in any order."""
    counts = [cells] if cells is not None else range(1, _MOST_CELLS + 1)
    return any(_fits(row, sorted(size)) for count in counts for row in _rows(reading, count))


def _rows(reading: Marking, count: int) -> Iterator[list[tuple[Fraction, Fraction]]]:
    sides = [(side.least, side.mm) for side in reading.sides]
    block = sides if len(sides) > 2 else [sides[0], *sides]
    for axis in range(len(block)):
        row = [(low * count, high * count) if n == axis else (low, high) for n, (low, high) in enumerate(block)]
        yield sorted(row, key=lambda side: side[1])


def _fits(row: list[tuple[Fraction, Fraction]], size: list[Fraction]) -> bool:
    return all(
        low - max(SLACK_MM, SLACK * mm) <= mm <= high + max(SLACK_MM, SLACK * mm)
        for (low, high), mm in zip(row, size, strict=True)
    )


def _says(reading: Marking, density: Fraction | None, fits: bool | None, if_one: bool) -> Iterator[str]:
    yield SCHEMES[reading.scheme]
    if fits is not None:
        yield "agrees with the size of the battery" if fits else "does not agree with the size of the battery"
    if density is None:
        yield "energy per volume not known"
    else:
        low, high = PLAUSIBLE
        word = "plausible" if low <= density <= high else f"outside {float(low):g} to {float(high):g}"
        yield f"would be {float(density):.0f} Wh/L{' if it is one cell' if if_one else ''}, {word}"
    if reading.letter is not None and reading.positive is None:
        yield f"letter {reading.letter} of the positive electrode is not coded; see the source"
