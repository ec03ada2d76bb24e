"""What is left of a plan by steps alone, and by time alone: exact, and a bound for the search that minds both.

Each leaves the other cost out of account and so has few states. What a search proves is kept: the exact rest of every
state on the cheapest way, and a bound for the others, so the next question starts from there.

By steps alone a state is (done, open run). Done at once is every release by bare hand or with the run's tools. In a
stretch without a run no lift by bare hand comes before a release that is possible now with one tool: put before the
lift the release costs nothing, as the lift then belongs to its run, and where it is taken away it adds nothing. While a
lift can close the open run, no other run is opened: put first the lift costs nothing, and the run gets its own stretch.

By time alone a state is (done, tools in hand, side). Done at once is everything that needs no set-up and no longer than
by any other way: taken out of its place it adds no pick-up and no turn.
"""

from __future__ import annotations

import heapq
from abc import ABC, abstractmethod
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from unfasten.routes.allowance import Allowance, OutOfWorkError
from unfasten.routes.chains import Chains
from unfasten.routes.plan import DEAD, Gate, Node, Plan
from unfasten.routes.price import Pricer, State
from unfasten.routes.problem import Way, prepare_steps

#: done, and what is in hand
Rest = tuple[int, ...]
ENDLESS: Final = 1 << 300


class Outlook:
    """A plan with what is known of its rests, by each cost alone; shared by all searches over the plan."""

    def __init__(self, plan: Plan) -> None:
        self.plan = plan
        chains = Chains(plan)
        self.steps = StepsAlone(plan, chains)
        self.time = TimeAlone(plan, chains)

    def bound(self, state: State, pricer: Pricer) -> int | None:
        """What a state's rest is known to cost at least; None at a dead end."""
        done, run, hand, side = state
        if done == self.plan.events:
            return 0
        node = self.plan.nodes.get(done) or self.plan.node(done)
        if node is DEAD:
            return None
        held, set_up = (done, run), (done, hand, side)
        steps = (self.steps.rests.get(held) or self.steps.meet(held)).low
        time = (self.time.rests.get(set_up) or self.time.meet(set_up)).low
        if steps >= ENDLESS or time >= ENDLESS:
            return None
        return (steps + node.prepare) * pricer.step + (time + node.time) * pricer.second + node.special


class Relaxed(ABC):
    """The cheapest rest of a plan by one cost alone, beyond what each event left costs at least by itself."""

    def __init__(self, plan: Plan, chains: Chains) -> None:
        self.plan = plan
        self.chains = chains
        self.moves = plan.problem.moves
        self.rests: dict[Rest, _Known] = {}
        self.gates: dict[Rest, list[Gate]] = {}

    @abstractmethod
    def _free(self, index: int, way: Way, held: Rest) -> bool:
        """Whether an event costs nothing by this way, with that in hand."""

    @abstractmethod
    def _onward(self, state: Rest, node: Node) -> Iterator[tuple[int, Rest]]:
        """Cost and state after each choice, where nothing is free."""

    @abstractmethod
    def _chains(self, state: Rest) -> int:
        """A quick lower bound."""

    def value(self, state: Rest, allowance: Allowance) -> int:
        """What is left exactly; `ENDLESS` at a dead end. Raises `OutOfWorkError`."""
        known = self.rests.get(state) or self.meet(state)
        return known.low if known.exact else self._search(known, ENDLESS, allowance)

    def within(self, state: Rest, budget: int, allowance: Allowance) -> bool:
        """Whether at most so much is left. Raises `OutOfWorkError`."""
        known = self.rests.get(state) or self.meet(state)
        if known.low > budget:
            return False
        return known.exact or self._search(known, budget, allowance) <= budget

    def meet(self, state: Rest) -> _Known:
        """What is known of a state met for the first time; it shares that with the state after all that is free."""
        held = state[1:]
        gates = self.gates.get(held)
        if gates is None:
            gates = self.gates[held] = self._gates(held)
        closed = (self.plan.after_all(state[0], gates), *held)
        known = self.rests.get(closed)
        if known is None:
            ended = closed[0] == self.plan.events
            known = self.rests[closed] = _Known(closed, 0 if ended else self._chains(closed), ended)
        self.rests[state] = known
        return known

    def _gates(self, held: Rest) -> list[Gate]:
        gates = []
        for gate, bit, index, ways, open_ in self.plan.gates:
            free = tuple(way for way in ways if self._free(index, way, held))
            if free:
                gates.append((gate, bit, index, free, open_))
        return gates

    def _search(self, start: _Known, most: int, allowance: Allowance) -> int:
        """A*: what is left exactly, or something above `most` if it is more."""
        rests = self.rests
        queue = [(start.low, 0, start.state)]
        best = {start.state: 0}
        came: dict[Rest, Rest] = {}
        opened: list[_Known] = []
        result, last = ENDLESS, start.state
        while queue:
            f, minus_g, state = heapq.heappop(queue)
            g = -minus_g
            if g > best[state]:
                continue
            if f > most:
                result = f
                break
            known = rests[state]
            if known.exact:
                result, last = f, state
                break
            try:
                allowance.expand(0)
            except OutOfWorkError:
                _raise(opened, best, f)
                raise
            opened.append(known)
            for cost, following in self._onward(state, self.plan.node(state[0])):
                known = rests.get(following) or self.meet(following)
                new, after = g + cost, known.state
                if new < best.get(after, ENDLESS):
                    best[after] = new
                    came[after] = state
                    if known.low < ENDLESS:
                        heapq.heappush(queue, (new + known.low, -new, after))
        _raise(opened, best, result)
        if result <= most and result < ENDLESS:
            while last != start.state:
                last = came[last]
                known = rests[last]
                known.low, known.exact = result - best[last], True
        return result


@dataclass(slots=True, eq=False)
class _Known:
    """A state in which nothing is free any more, and what is left at least, or exactly."""

    state: Rest
    low: int
    exact: bool


def _raise(opened: list[_Known], best: dict[Rest, int], result: int) -> None:
    """Note that no way through these states costs less than `result`."""
    for known in opened:
        if result >= ENDLESS:
            known.low, known.exact = ENDLESS, True
        elif result - best[known.state] > known.low:
            known.low = result - best[known.state]


class StepsAlone(Relaxed):
    """Steps left in a state (done, open run), beyond those of preparations."""

    def _chains(self, state: Rest) -> int:
        return self.chains.steps(self.plan.events & ~state[0], state[1])

    def _free(self, index: int, way: Way, held: Rest) -> bool:
        return index >= self.moves and not way.prepare and way.tools in (0, held[0])

    def _onward(self, state: Rest, node: Node) -> Iterator[tuple[int, Rest]]:
        done, run = state
        least = {bit: steps for bit, _, _, steps in self.plan.least if steps}
        riding = waiting = False
        for index, ready in node.available:
            if index < self.moves:
                riding = riding or (run != 0 and ready[0].tools in (0, run))
            elif not run:
                waiting = waiting or any(not w.prepare and w.tools & (w.tools - 1) == 0 for w in ready)
        opened = set()
        for index, ready in node.available:
            for way in ready:
                tools = way.tools
                if index < self.moves:
                    if riding and tools not in (0, run):
                        continue
                    if waiting and not tools:
                        continue
                    cost = tools.bit_count() if tools and tools != run else 0
                    yield (cost + (not run and not tools)), (done | 1 << index, 0)
                elif riding:
                    continue
                elif way.prepare:
                    cost = prepare_steps(way) + tools.bit_count() - least.get(1 << index, 0)
                    yield cost, (done | 1 << index, tools)
                elif tools not in opened:
                    opened.add(tools)
                    yield tools.bit_count(), (done, tools)


class TimeAlone(Relaxed):
    """Time left in a state (done, tools in hand, side up), beyond the work itself."""

    def __init__(self, plan: Plan, chains: Chains) -> None:
        super().__init__(plan, chains)
        self.change = plan.problem.change
        self.turn = plan.problem.turn
        self.least = {index: time for index, (_, time, _, _) in zip(plan.order, plan.least, strict=True)}

    def _chains(self, state: Rest) -> int:
        return self.chains.set_up(self.plan.events & ~state[0], state[1], state[2])

    def _free(self, index: int, way: Way, held: Rest) -> bool:
        set_up = not way.prepare and way.tools in (0, held[0]) and way.side in (0, held[1])
        return set_up and way.time == self.least[index]

    def _onward(self, state: Rest, node: Node) -> Iterator[tuple[int, Rest]]:
        done, hand, side = state
        started = set()
        for index, ready in node.available:
            least = self.least[index]
            for way in ready:
                up = way.side or side
                cost = self.turn if up != side and side else 0
                if not way.prepare and way.time == least:
                    set_up = (way.tools or hand, up)
                    if set_up not in started:
                        started.add(set_up)
                        yield cost + self.change * (way.tools & ~hand).bit_count(), (done, *set_up)
                    continue
                held = hand
                for tools in (*(tools for tools, _ in way.prepare), way.tools):
                    if tools:
                        cost += self.change * (tools & ~held).bit_count()
                        held = tools
                yield cost + way.total - least, (done | 1 << index, held, up)
