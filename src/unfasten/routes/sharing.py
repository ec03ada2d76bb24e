"""Routes shared by worlds that differ little: searched once for all in which all that can matter to them is equal."""

from __future__ import annotations

from unfasten.routes.excerpt import Contents, Key, key
from unfasten.routes.problem import Problem
from unfasten.routes.result import Route
from unfasten.routes.world import World


class Sharing:
    """Routes by one objective and one budget, known by their excerpts (`routes/excerpt.py`)."""

    def __init__(self) -> None:
        self.contents = Contents()
        self.known: dict[Key, Route | None] = {}

    def numbers(self, problem: Problem, like: tuple[Problem, list[int]] | None = None) -> list[int]:
        """What the events of a problem are known by; `like` is a problem that shares most events, with its numbers."""
        return self.contents.of(problem, like)

    def route(self, world: World, numbers: list[int], name: str) -> Route | None:
        """The best route to a target in a world; `numbers` are those of the world's problem."""
        target = world.problem.target[name]
        if world.table[target] < 0:
            return None
        sought = key(world.problem, numbers, world.closure(name), (target,))
        if sought not in self.known:
            self.known[sought] = world.route(name)
        return self.known[sought]
