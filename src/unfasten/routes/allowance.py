"""How much searching is allowed: counted in work done, so that the same record gives the same answer on any machine."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

#: units of work in a nominal second
UNITS_PER_SECOND: Final = 1_000_000
#: units that it takes to go on from one state
EXPANDING: Final = 30


class OutOfWorkError(Exception):
    """The allowance is used up; `bound` is a lower bound of the cost."""

    def __init__(self, bound: int) -> None:
        super().__init__(bound)
        self.bound = bound


@dataclass(slots=True)
class Allowance:
    """Units of work that are left, over all searches for one route."""

    units: int

    def expand(self, bound: int) -> None:
        """Use what a state costs; raises `OutOfWorkError` with `bound` when nothing is left."""
        if self.units <= 0:
            raise OutOfWorkError(bound)
        self.units -= EXPANDING
