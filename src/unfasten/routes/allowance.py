"""How much searching is allowed: counted in work done, so that the same record gives the same answer on any machine."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

#: units of work in a nominal second; a unit is one event looked at for one set of done events
UNITS_PER_SECOND: Final = 1_000_000
#: units that expanding one state costs besides
EXPANDING: Final = 12


class OutOfWorkError(Exception):
    """The allowance is used up; `bound` is a lower bound of the cost."""

    def __init__(self, bound: int) -> None:
        super().__init__(bound)
        self.bound = bound


@dataclass(slots=True)
class Allowance:
    """Units of work that are left, over all searches for one route."""

    units: int

    def take(self, units: int) -> None:
        """Use some; going below nothing shows at the next state."""
        self.units -= units

    def expand(self, bound: int) -> None:
        """Use what a state costs; raises `OutOfWorkError` with `bound` when nothing is left."""
        if self.units <= 0:
            raise OutOfWorkError(bound)
        self.units -= EXPANDING
