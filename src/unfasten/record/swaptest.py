"""Swap tests: which part from where went into this unit, whether it was accepted, and what was lost."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING, Final, Literal

from unfasten.record.types import Day, Id, Noun, Text

if TYPE_CHECKING:
    from unfasten.record.record import Record

Source = Literal["same-model", "sibling", "other-maker"]
Fitted = Literal["fits", "with-change", "does-not-fit"]
Accepted = Literal["full", "limited", "refused"]
Pairing = Literal["notification", "authorisation"]
#: how a cell of the matrix stands: by the last test in it
State = Literal["accepted", "after-pairing", "limited", "refused", "does-not-fit", "not-powered", "untested"]
SOURCES: Final[tuple[Source, ...]] = ("same-model", "sibling", "other-maker")


class Donor(Noun):
    """Where the part came from. `product` is a record's id, `part` its id there (the same id unless given)."""

    source: Source
    product: Id | None = None
    part: Id | None = None
    maker: Text | None = None
    unit: Text | None = None


class SwapTest(Noun):
    """One part put into a unit of this model.

    `fitted` and `accepted` None: not tried. `asked`: what the device asked for before it accepted the part; empty with
    `accepted: full` means that it asked for nothing. `lost` are functions that did not work, `messages` what was shown.
    """

    part: Id
    donor: Donor
    fitted: Fitted | None = None
    accepted: Accepted | None = None
    asked: tuple[Pairing, ...] = ()
    lost: tuple[Text, ...] = ()
    messages: tuple[Text, ...] = ()
    software: Text | None = None
    on: Day | None = None
    by: Text | None = None
    photo: Text | None = None
    note: Text | None = None

    @property
    def state(self) -> State:
        """How the test turned out."""
        if self.fitted == "does-not-fit":
            return "does-not-fit"
        if self.accepted is None:
            return "not-powered"
        if self.accepted != "full":
            return self.accepted
        if self.asked:
            return "after-pairing"
        return "limited" if self.lost or self.messages else "accepted"


def swaps_of(record: Record, part: str, source: Source | None = None) -> dict[str, SwapTest]:
    """Give the swap tests of a part, of one source or all, oldest first (no day: before all; then by id)."""
    found = [(n, t) for n, t in record.swap_tests.items() if t.part == part and source in (None, t.donor.source)]
    return dict(sorted(found, key=lambda item: (item[1].on.isoformat() if item[1].on else "", item[0])))


def cell_state(tests: Iterable[SwapTest]) -> State:
    """Give the state of a cell: that of its last test, `untested` without one."""
    states: list[State] = [test.state for test in tests]
    return states[-1] if states else "untested"
