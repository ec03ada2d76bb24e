"""What a battery is made of as far as record and label tell: chemistry and number of cells, with what contradicts."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final, TypeVar

from unfasten.battery.marking import Marking
from unfasten.record.part import Battery

COUNT: Final = "count the cells: how many in series, how many side by side (keys cells_in_series, cells_in_parallel)"
LETTERS: Final = "read on the label whether it is lithium ion or lithium metal (key chemistry)"


T = TypeVar("T", int, str)


@dataclass(frozen=True, slots=True)
class Makeup:
    """Chemistry and cells; None where not known or contradicted. `remarks` names the contradictions."""

    chemistry: str | None
    series: int | None
    parallel: int | None
    remarks: tuple[str, ...]

    @property
    def cells(self) -> int | None:
        """Cells in all; None where not known."""
        return None if self.series is None or self.parallel is None else self.series * self.parallel


def makeup_of(battery: Battery, readings: Sequence[Marking]) -> Makeup:
    """Join the record's own keys with what every reading of the designation agrees on."""
    remarks: list[str] = []
    series = _join("cells in series", battery.cells_in_series, (r.series for r in readings), remarks)
    parallel = _join("cells in parallel", battery.cells_in_parallel, (r.parallel for r in readings), remarks)
    chemistry = _join("chemistry", battery.chemistry, (r.chemistry for r in readings), remarks)
    return Makeup(chemistry, series, parallel, tuple(remarks))


def _join(what: str, told: T | None, read: Iterable[T | None], remarks: list[str]) -> T | None:
    values = set(read)
    marked = values.pop() if len(values) == 1 else None
    if told is not None and marked is not None and told != marked:
        remarks.append(f"{what}: the record says {told}, the designation {marked}; look at the battery again")
        return None
    return told if told is not None else marked
