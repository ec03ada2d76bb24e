"""How much searching is allowed: counted in states, so that the same record gives the same answer on any machine."""

from __future__ import annotations

from dataclasses import dataclass


class OutOfStatesError(Exception):
    """The allowance of states is used up; `bound` is a lower bound of the cost."""

    def __init__(self, bound: int) -> None:
        super().__init__(bound)
        self.bound = bound


@dataclass(slots=True)
class Allowance:
    """How many states may still be expanded, over all searches for one route."""

    states: int

    def spend(self, bound: int) -> None:
        """Use one up; raises `OutOfStatesError` when none is left."""
        if self.states <= 0:
            raise OutOfStatesError(bound)
        self.states -= 1
