"""Order a plan's events at least cost: A* over (done events, run, tools in hand, side up).

Why it is exact: the bound never exceeds the cost of what is left, and the one reduction, doing at once every release
that needs no set-up now, never loses an optimum: all events of a plan are done sooner or later; moving such a release
to the front adds nothing there, and removing an action from a sequence never adds a run, a tool change or a turn. Lifts
are never taken ahead: that would be wrong for steps. Releases that share a set-up and would all follow each other free
are started once, not once each. While a lift could close the open run at no set-up, no other run is opened: moving that
lift to the front costs nothing and leaves the other run its own stretch to open in.

The first cost (steps, or time) is known before the search starts, from a search by that cost alone: a state from which
it can no longer be met is dropped. The bound of the second is the exact rest by the second cost alone (`relaxed.py`).

A state is dropped if another with the same events done is no dearer even after paying for the tools, the run and the
side that it lacks.
"""

from __future__ import annotations

import heapq
from collections.abc import Iterator
from typing import Final

from unfasten.routes.allowance import Allowance, OutOfWorkError
from unfasten.routes.price import START, Pricer, State
from unfasten.routes.problem import Way
from unfasten.routes.relaxed import ENDLESS, Outlook

#: states looked at before the exact rests by one cost alone are asked for: most searches end sooner
PATIENCE: Final = 12

Step = tuple[int, Way]
Available = tuple[tuple[int, tuple[Way, ...]], ...]


class Schedule:
    """Searches over one plan that share what they learn: lower bounds, and exact costs along optimal sequences."""

    def __init__(self, outlook: Outlook, pricer: Pricer, allowance: Allowance) -> None:
        self.outlook = outlook
        self.plan = outlook.plan
        self.pricer = pricer
        self.allowance = allowance
        self.learned: dict[State, int] = {}
        self.exact: dict[State, int] = {}
        self.by_steps = pricer.by == "steps"

    def bound(self, state: State) -> int | None:
        """Lower bound of the cost of what is left, as far as it is known; None at a dead end."""
        low = self.outlook.bound(state, self.pricer)
        if low is None:
            return None
        learned = self.learned.get(state)
        return low if learned is None or learned < low else learned

    def first_within(self, state: State, budget: int) -> bool:
        """Whether the first cost of what is left can be met with `budget` (a price)."""
        done, run, hand, side = state
        node = self.plan.node(done)
        most = budget // self.pricer.first
        if self.by_steps:
            return self.outlook.steps.within((done, run), most - node.prepare, self.allowance)
        return self.outlook.time.within((done, hand, side), most - node.time, self.allowance)

    def least_first(self, state: State) -> int:
        """The first cost of what is left, exactly; `ENDLESS` at a dead end."""
        done, run, hand, side = state
        node = self.plan.node(done)
        if self.by_steps:
            return self.outlook.steps.value((done, run), self.allowance) + node.prepare
        return self.outlook.time.value((done, hand, side), self.allowance) + node.time

    def settle_second(self, state: State) -> None:
        """Find out what the second cost of what is left is by itself."""
        done, run, hand, side = state
        if self.by_steps:
            self.outlook.time.value((done, hand, side), self.allowance)
        else:
            self.outlook.steps.value((done, run), self.allowance)

    def free(self, state: State) -> tuple[int, State, tuple[Step, ...]]:
        """Do every release that needs no set-up now, and those that become available so; cost, state, what was done."""
        cost, steps = 0, []
        _, run, _, side = state
        for index, ready in self.plan.node(state[0]).available:
            way = self.plan.plain[index]
            if (
                way is not None
                and index >= self.pricer.moves
                and (way.tools == 0 or way.tools == run)
                and (way.side == 0 or way.side == side)
                and way in ready
            ):
                extra, state = self.pricer.apply(state, index, way)
                cost += extra
                steps.append((index, way))
        return cost, state, tuple(steps)

    def onward(self, state: State) -> Iterator[tuple[int, State, tuple[Step, ...]]]:
        """Give the ways on from a state: each with its cost, the state after it and what was done."""
        cost, after, steps = self.free(state)
        if steps:
            yield cost, after, steps
            return
        started: set[tuple[int, int]] = set()
        available = self.plan.node(state[0]).available
        riding = state[1] and self._can_ride(state, available)
        for index, ready in available:
            plain = self.plan.plain[index] if index >= self.pricer.moves else None
            for way in ready:
                if riding and (way.prepare or (way.tools and way.tools != state[1])):
                    continue
                if way is plain:
                    set_up = (way.tools, way.side)
                    if set_up in started:
                        continue
                    started.add(set_up)
                cost, after = self.pricer.apply(state, index, way)
                yield cost, after, ((index, way),)

    def _can_ride(self, state: State, available: Available) -> bool:
        """Tell whether a lift could close the open run at no set-up."""
        _, run, _, side = state
        return any(
            index < self.pricer.moves and ready[0].tools in (0, run) and ready[0].side in (0, side)
            for index, ready in available
        )

    def search(self, start: State = START, limit: int | None = None) -> tuple[int, tuple[Step, ...]] | None:
        """Cheapest way from `start` through the whole plan if it costs at most `limit`, else None.

        Raises `OutOfWorkError`.
        """
        most = ENDLESS if limit is None else limit
        low = self.bound(start)
        if low is None or low > most:
            return None
        if start[0] == self.plan.events:
            return 0, ()
        return self._search(start, low, most)

    def _capped(self, start: State, most: int, f: int) -> int:
        """The most that can be the optimum, as its first cost is known; -1 if it is more than `most`."""
        try:
            if most < ENDLESS and not self.first_within(start, most):
                return -1
            first = self.least_first(start)
        except OutOfWorkError:
            raise OutOfWorkError(max(f, self.bound(start) or 0)) from None
        return -1 if first >= ENDLESS else min(most, (first + 1) * self.pricer.first - 1)

    def _search(self, start: State, low: int, most: int) -> tuple[int, tuple[Step, ...]] | None:
        queue: list[tuple[int, int, State, bool]] = [(low, 0, start, False)]
        rivals: dict[int, list[tuple[int, State]]] = {}
        best: dict[State, int] = {start: 0}
        came: dict[State, tuple[State, tuple[Step, ...]]] = {}
        expanded = 0
        bound, conversion = self.bound, self.pricer.conversion
        while queue:
            f, minus_g, state, settled = heapq.heappop(queue)
            g = -minus_g
            if g > best[state]:
                continue
            if state[0] == self.plan.events:
                return g, self._learn(best, came, start, state, g)
            self.allowance.expand(f)
            expanded += 1
            if expanded == PATIENCE:
                capped = self._capped(start, most, f)
                if capped < 0:
                    break
                most = capped
            if not settled and expanded >= PATIENCE:
                better = self._settled(state, g, f, most)
                if better is None:
                    continue
                if better > f:
                    heapq.heappush(queue, (better, minus_g, state, True))
                    continue
            for cost, after, steps in self.onward(state):
                new = g + cost
                if new >= best.get(after, ENDLESS):
                    continue
                h = bound(after)
                if h is None or new + h > most:
                    continue
                beside = rivals.get(after[0])
                if beside is None:
                    rivals[after[0]] = [(new, after)]
                else:
                    if any(g2 <= new and g2 + conversion(rival, after) <= new for g2, rival in beside):
                        continue
                    beside.append((new, after))
                best[after] = new
                came[after] = (state, steps)
                heapq.heappush(queue, (new + h, -new, after, False))
        for state, g in best.items():
            if most + 1 - g > self.learned.get(state, 0):
                self.learned[state] = most + 1 - g
        return None

    def _settled(self, state: State, g: int, f: int, most: int) -> int | None:
        """A better bound of the whole, from the exact rests by each cost alone; None if it is above `most`."""
        try:
            if not self.first_within(state, most - g):
                return None
            self.settle_second(state)
        except OutOfWorkError:
            raise OutOfWorkError(f) from None
        low = self.bound(state)
        return None if low is None or g + low > most else max(f, g + low)

    def _learn(
        self,
        best: dict[State, int],
        came: dict[State, tuple[State, tuple[Step, ...]]],
        start: State,
        end: State,
        cost: int,
    ) -> tuple[Step, ...]:
        """Keep what the search proved (no completion of a state is cheaper than the optimum allows); give the way."""
        for state, g in best.items():
            if cost - g > self.learned.get(state, 0):
                self.learned[state] = cost - g
        parts: list[tuple[Step, ...]] = []
        state = end
        self.exact[end] = 0
        while state != start:
            state, steps = came[state]
            parts.append(steps)
            self.exact[state] = cost - best[state]
        return tuple(step for steps in reversed(parts) for step in steps)

    def completes(self, state: State, budget: int) -> bool:
        """Tell whether the plan can be completed from `state` at a cost of at most `budget`."""
        while True:
            if state[0] == self.plan.events:
                return budget >= 0
            low = self.bound(state)
            if low is None or low > budget:
                return False
            if self.exact.get(state, budget + 1) <= budget:
                return True
            cost, after, steps = self.free(state)
            if not steps:
                break
            state, budget = after, budget - cost
        return self._settled(state, 0, 0, budget) is not None and self.search(state, budget) is not None
