"""A plan: a set of events that suffices for a target. Routes are found by choosing plans, then ordering one exactly.

Every irreducible route does the events of some plan and nothing else, so the least cost over all plans is the least
cost. A plan starts from what every route must contain; where a cover can be cleared in several ways it grows by one of
them together with all that this makes necessary.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from unfasten.routes.necessity import bits, necessary
from unfasten.routes.problem import Problem, Way, prepare_steps

#: bits of one sum where several are kept in one number
PACK: Final = 80
MASK: Final = (1 << PACK) - 1

#: all that must come before an event, with itself; its bit; its index; ways; whether nothing else has to be met
Gate = tuple[int, int, int, tuple[Way, ...], bool]


@dataclass(slots=True)
class Node:
    """What is known of a plan when a set of its events is done, whatever is in hand.

    `available` are the events that can be done now, with the ways that can be used; `prepare`, `time` and `special` sum
    what each event left costs at least by itself (steps of preparations, work time, special tools).
    """

    available: tuple[tuple[int, tuple[Way, ...]], ...]
    prepare: int
    time: int
    special: int


DEAD = Node((), 0, 0, 0)


class Plan:
    """The events of one plan with what must come before what.

    `order` lists them so that what must come before an event stands before it; `before` has each event with all that
    must come before it, `after` what must come after it. All events of a plan are done, so what an event rules out must
    come after it. `idle` are moves that no other event ever needs: where one could clear something, another always has.
    `ways` are those that can be used at all; `plain` is the one way without preparation that no other
    beats in time or special tools, where there is one.
    """

    def __init__(self, problem: Problem, events: int) -> None:
        self.problem = problem
        self.events = events
        self.moves = (1 << problem.moves) - 1
        self.before = necessary(problem, events, whole=True)
        self.order = bits(events)
        self.feasible = all(self.before[index] >= 0 for index in self.order)
        self.nodes: dict[int, Node] = {}
        self.ways: dict[int, tuple[Way, ...]] = {}
        self.plain: dict[int, Way | None] = {}
        if self.feasible:
            self._prepare()

    def _prepare(self) -> None:
        events, before = self.events, self.before
        self.order.sort(key=lambda i: (before[i].bit_count(), i))
        self.after = dict.fromkeys(self.order, 0)
        self.gates: list[Gate] = []
        self.least: list[tuple[int, int, int, int]] = []
        self.packed: list[tuple[int, int]] = []
        wanted = 0
        for index in self.order:
            bit, ways = 1 << index, self.problem.events[index].ways
            if len(ways) > 1:
                ways = tuple(w for w in ways if all(clause & events for clause in w.clauses))
            self.ways[index] = ways
            self.plain[index] = _plain(ways)
            earlier = before[index] ^ bit
            for one in bits(earlier):
                self.after[one] |= bit
            for way in ways:
                for clause in way.clauses:
                    certain = clause & earlier
                    if certain & (certain - 1) == 0:
                        wanted |= certain or clause
            open_ = all(clause & earlier for way in ways for clause in way.clauses)
            self.gates.append((before[index], bit, index, ways, open_))
            time, special, prepare = _least(ways)
            self.least.append((bit, time, special, prepare))
            self.packed.append((bit, ((prepare << PACK) + time << PACK) + special))
        self.idle = events & self.moves & ~wanted

    def node(self, done: int) -> Node:
        """Facts about a set of done events (memoised); `DEAD` where something left can no longer be done."""
        node = self.nodes.get(done)
        if node is None:
            node = self.nodes[done] = self._node(done)
        return node

    def after_all(self, done: int, gates: list[Gate]) -> int:
        """What is done after all that can be done of these events (in the plan's order) and by these ways."""
        left, before, shut = self.events & ~done, 0, True
        while left != before and shut:
            before, shut = left, False
            for gate, bit, _, ways, open_ in gates:
                if gate & left == bit:
                    done = self.events ^ left
                    if open_ or any(all(clause & done for clause in way.clauses) for way in ways):
                        left ^= bit
                    else:
                        shut = True
        return self.events ^ left

    def _node(self, done: int) -> Node:
        left = self.events & ~done
        available = [
            (index, ways if open_ else tuple([way for way in ways if all(clause & done for clause in way.clauses)]))
            for gate, bit, index, ways, open_ in self.gates
            if gate & left == bit
        ]
        if not all(ready for _, ready in available):
            available = [pair for pair in available if pair[1]]
        if not available:
            return DEAD
        total = sum([packed for bit, packed in self.packed if bit & left])
        return Node(tuple(available), total >> 2 * PACK & MASK, total >> PACK & MASK, total & MASK)


def _least(ways: tuple[Way, ...]) -> tuple[int, int, int]:
    """Least work time, special tools and preparation steps over the ways (each by itself)."""
    if len(ways) == 1:
        return ways[0].total, ways[0].special, prepare_steps(ways[0])
    return (
        min(way.total for way in ways),
        min(way.special for way in ways),
        min(prepare_steps(way) for way in ways),
    )


def _plain(ways: tuple[Way, ...]) -> Way | None:
    """The way without preparation that no other beats in time or special tools, if it is the only such one."""
    time, special, _ = _least(ways)
    found = [way for way in ways if not way.prepare and way.total == time and way.special == special]
    return found[0] if len(found) == 1 else None
