"""Readings and parts as lines of text."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from unfasten.photo.reading import Reading
    from unfasten.service.measurekeep import Again
    from unfasten.service.measureparts import PartsTable
    from unfasten.service.measurepicks import Measured


def reading_lines(measured: Measured) -> Iterator[str]:
    """Each reading with its interval, and the budget of the first."""
    for reading in measured.readings:
        low, high = reading.interval
        places = _places(reading)
        span = f"{low:.{places}f} to {high:.{places}f} {reading.unit}"
        yield f"{reading.name:<12} {reading.text:<24} {reading.p * 100:g} % interval {span}"
    yield ""
    yield from budget_lines(measured.readings[0])


def budget_lines(reading: Reading) -> Iterator[str]:
    """The budget as a table: contribution, evaluation, degrees of freedom, where it comes from."""
    yield f"budget of {reading.name}: coverage factor {reading.k:.2f}, degrees of freedom {_dof(reading.budget.dof)}"
    for part in reading.budget.components:
        yield f"  {part.name:<16} {part.u:9.4f} {reading.unit}  {part.evaluation} {_dof(part.dof):>6}  {part.says}"


def part_lines(table: PartsTable) -> Iterator[str]:
    """The table of parts."""
    yield f"{'part':<5} {'length [mm]':>18} {'width [mm]':>18} {'area [mm²]':>18}  holes"
    for part in table.parts:
        length, width, area = (_plain(reading) for reading in part.readings[:3])
        yield f"{part.letter:<5} {length:>18} {width:>18} {area:>18}  {len(part.holes) or '-'}"
        for number, hole in enumerate(part.holes, 1):
            told = _plain(hole.readings[-1]) + " mm" if hole.round else "not round"
            yield f"{'':<5} hole {number}: {told}"
        yield from (f"{'':<5} {flag}" for flag in part.flags)


def again_lines(found: Sequence[Again]) -> Iterator[str]:
    """Each measurement as the record holds it and as it comes out now."""
    for one in found:
        word = "the same" if one.same else f"now {one.now or 'nothing'}"
        yield f"{one.id}  {one.held.name:<12} {one.held.value}  {word}"


def _plain(reading: Reading) -> str:
    return reading.text.removesuffix(f" {reading.unit}")


def _places(reading: Reading) -> int:
    from unfasten.photo.reading import places_of

    return places_of(reading.u)


def _dof(dof: float) -> str:
    return "-" if dof == float("inf") else f"{dof:.0f}"


def note_lines(notes: Sequence[str]) -> Iterator[str]:
    """What the figures do not cover."""
    yield from (f"note: {note}" for note in notes)
