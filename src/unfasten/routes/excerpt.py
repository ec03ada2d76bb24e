"""The part of a problem that can matter to some targets, numbered anew: equal excerpts have equal routes.

An excerpt keeps nothing of what lies outside, so whatever is found in it holds for every record, world and edit that
has the same excerpt. `Contents` tells in a few numbers whether two are the same, without building them.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any

from unfasten.routes.necessity import bits, necessary
from unfasten.routes.plans import Plans
from unfasten.routes.price import Pricer
from unfasten.routes.problem import Event, Problem, Way
from unfasten.routes.relaxed import Outlook
from unfasten.routes.result import By
from unfasten.routes.search import Found, search

#: what an excerpt is known by: the setup, the contents of its events, and its targets
Key = tuple[Any, ...]


@dataclass(slots=True)
class Excerpt:
    """A problem in which every event can happen and can matter to the targets `goals`; what is learnt stays."""

    problem: Problem
    goals: tuple[int, ...]
    table: list[int]
    plans: dict[int, Outlook | None] = field(default_factory=dict)
    pricers: dict[By, Pricer] = field(default_factory=dict)
    found: dict[By, Found] = field(default_factory=dict)

    def pricer(self, by: By) -> Pricer:
        """The prices of this excerpt by an objective."""
        if by not in self.pricers:
            self.pricers[by] = Pricer(self.problem, by)
        return self.pricers[by]

    def search(self, by: By, units: int, *, ordered: bool = True) -> Found:
        """Find the best sequence by an objective, with what was found by the other; `units` limits the work.

        `ordered`: the first of the best by name. An excerpt is asked with one of the two only.
        """
        if by not in self.found:
            pricer = self.pricer(by)
            plans = Plans(self.problem, self.table, self.goals, pricer, self.plans)
            other = next(iter(self.found.values()), None)
            self.found[by] = search(plans, pricer, units, other, ordered=ordered)
        return self.found[by]


def excerpt(problem: Problem, within: int, targets: Iterable[int]) -> Excerpt:
    """Cut a problem to the events `within`, all that can matter to the targets; number events, tools and sides anew."""
    return _Cutter(problem, within).excerpt(targets)


class Contents:
    """Numbers the contents of events, so that excerpts can be compared and looked up quickly. Only ever grows."""

    def __init__(self) -> None:
        self.numbers: dict[Any, int] = {}

    def of(self, problem: Problem, like: tuple[Problem, list[int]] | None = None) -> list[int]:
        """The number of each event's content: equal if and only if all that an event says is the same.

        `like` are another problem of the same record, and its numbers; events that both share are not looked at again.
        """
        names = [(event.kind, event.id) for event in problem.events]
        if like is None:
            return [self._number(_content(event, names)) for event in problem.events]
        return [
            number if event is old else self._number(_content(event, names))
            for event, old, number in zip(problem.events, like[0].events, like[1], strict=True)
        ]

    def _number(self, content: Any) -> int:
        return self.numbers.setdefault(content, len(self.numbers))


def key(problem: Problem, contents: list[int], within: int, targets: Iterable[int]) -> Key:
    """What the excerpt `within` is known by. Events that are not in it are those that cannot happen or matter."""
    setup = problem.unit, problem.change, problem.turn
    return setup, tuple(contents[i] for i in bits(within)), tuple(contents[i] for i in targets)


def _content(event: Event, names: list[tuple[str, str]]) -> Any:
    def named(mask: int) -> tuple[tuple[str, str], ...]:
        return tuple(names[i] for i in bits(mask))

    ways = tuple((way.actions, way.special, tuple(named(clause) for clause in way.clauses)) for way in event.ways)
    return event.kind, event.id, named(event.needs), named(event.forbids), ways


class _Cutter:
    """Holds the new numbers while an excerpt is made."""

    def __init__(self, problem: Problem, within: int) -> None:
        self.problem = problem
        self.chosen = bits(within)
        self.bit = {1 << old: 1 << new for new, old in enumerate(self.chosen)}
        self.tools: dict[int, int] = {}
        self.sides = {0: 0}

    def excerpt(self, targets: Iterable[int]) -> Excerpt:
        old = self.problem
        events = tuple(self._event(old.events[index]) for index in self.chosen)
        moves = sum(index < old.moves for index in self.chosen)
        tools = tuple(old.tools[tool] for tool in self.tools)
        problem = Problem(events, moves, {}, old.unit, old.change, old.turn, tools)
        goals = tuple(self.bit[1 << target].bit_length() - 1 for target in targets)
        return Excerpt(problem, goals, necessary(problem))

    def _event(self, event: Event) -> Event:
        ways = [self._way(way) for way in event.ways]
        return Event(
            event.kind, event.id, self._events(event.needs), self._events(event.forbids), tuple(w for w in ways if w)
        )

    def _way(self, way: Way) -> Way | None:
        """The way with new numbers; None where a clause can never be met."""
        clauses = dict.fromkeys(self._events(clause) for clause in way.clauses)
        if 0 in clauses:
            return None
        return Way(
            way.number,
            self._tools(way.tools),
            self.sides.setdefault(way.side, len(self.sides)),
            way.time,
            tuple((self._tools(tools), time) for tools, time in way.prepare),
            tuple(clauses),
            way.special,
            way.actions,
            way.key,
        )

    def _events(self, mask: int) -> int:
        new = 0
        while mask:
            low = mask & -mask
            new |= self.bit.get(low, 0)
            mask ^= low
        return new

    def _tools(self, mask: int) -> int:
        return sum(1 << self.tools.setdefault(tool, len(self.tools)) for tool in bits(mask))
