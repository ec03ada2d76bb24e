"""What the swap tests of a record show of each part, by the source of the donor, and the pairing that follows."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from unfasten.record.paired import Paired, paired
from unfasten.record.swaptest import SOURCES, Pairing, Source, State, cell_state, swaps_of

if TYPE_CHECKING:
    from unfasten.record.record import Record


@dataclass(frozen=True, slots=True)
class SwapFact:
    """What the swap tests of a record show of one part.

    `cells`: the state by source of the donor, `untested` where there is no test. `pairing`: what the part needs by the
    record and by tests with parts of the same model. `tests` are all swap tests of the part.
    """

    part: str
    role: str | None
    cells: Mapping[Source, State]
    pairing: Paired
    tests: tuple[str, ...]

    @property
    def recorded(self) -> tuple[Pairing, ...]:
        """Pairing that the record lists."""
        return self.pairing.recorded

    @property
    def shown(self) -> tuple[Pairing, ...] | None:
        """Pairing that tests show; None: they do not show it."""
        return self.pairing.least if self.pairing.basis == "tested" else None

    @property
    def agrees(self) -> bool | None:
        """Whether tests show what the record lists; None where they show nothing of it."""
        return self.pairing.agrees


def swap_facts(record: Record) -> dict[str, SwapFact]:
    """Give what is shown of every part that a swap test or `pairing` speaks of, or that has a role; parts in order.

    Pure: for rules that ask whether a replacement works without pairing, or after it.
    """
    return {
        name: _fact(record, name)
        for name, part in record.parts.items()
        if not part.stays and (part.role not in (None, "other") or part.pairing or swaps_of(record, name))
    }


def _fact(record: Record, name: str) -> SwapFact:
    cells = {source: cell_state(swaps_of(record, name, source).values()) for source in SOURCES}
    tests = tuple(swaps_of(record, name))
    return SwapFact(name, record.parts[name].role, cells, paired(record, name), tests)
