"""Exact search for a cheapest sequence to one target: A* over (done events, run, tools in hand, side up).

Costs are single integers that compare as (steps, time, special releases) or (time, steps, special releases).
Why it is exact: the bound never exceeds the cost of any completion (`TargetView` counts only what every completion
contains), and the one reduction, taking at once every release that all completions contain and that needs no set-up,
never loses an optimum: moving such a release to the front of a completion adds nothing there, and removing an action
from a sequence never adds a run, a tool change or a turn. Lifts are never taken ahead: that would be wrong for steps.
"""

from __future__ import annotations

import heapq
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final, Literal

from unfasten.routes.problem import Problem, Way
from unfasten.routes.result import By
from unfasten.routes.target import Node, TargetView

#: states expanded per second of budget; a count, so that the same record gives the same route on any machine
STATES_PER_SECOND: Final = 20_000

NO_RUN: Final = 0
AFTER_PREPARATION: Final = -1
#: done, run (tool mask, NO_RUN or AFTER_PREPARATION), hand (tool mask), side
State = tuple[int, int, int, int]
START: Final[State] = (0, NO_RUN, 0, 0)


class Pricer:
    """Prices actions and bounds completions for one problem and objective."""

    def __init__(self, problem: Problem, by: By) -> None:
        self.change = problem.change
        self.turn = problem.turn
        self.moves = (1 << problem.moves) - 1
        releases = len(problem.events) + 1
        most_time = 1 + sum(
            max(w.total + (self.change * len(problem.tools) + self.turn) * (1 + len(w.prepare)) for w in e.ways)
            for e in problem.events
            if e.ways
        )
        most_steps = 1 + sum(
            max(1 + w.tools.bit_count() + sum(1 + p.bit_count() for p, _ in w.prepare) for w in e.ways)
            for e in problem.events
            if e.ways
        )
        if by == "steps":
            self.step, self.second = most_time * releases, releases
        else:
            self.step, self.second = releases, most_steps * releases
        self.first = self.step if by == "steps" else self.second

    def apply(self, state: State, index: int, way: Way, is_move: bool) -> tuple[int, State]:
        """Cost of doing event `index` by `way`, and the state after it."""
        done, run, hand, side = state
        steps = 0
        time = way.time
        if way.side and side != way.side:
            if side:
                time += self.turn
            side = way.side
        for tools, seconds in way.prepare:
            run = AFTER_PREPARATION
            time += seconds
            if tools:
                steps += tools.bit_count()
                time += self.change * (tools & ~hand).bit_count()
                hand = tools
            else:
                steps += 1
        tools = way.tools
        if tools:
            if run != tools:
                steps += tools.bit_count()
                run = tools
            time += self.change * (tools & ~hand).bit_count()
            hand = tools
        if is_move:
            if run <= 0:
                steps += 1
            run = NO_RUN
        return steps * self.step + time * self.second + way.special, (done | 1 << index, run, hand, side)

    def bound(self, node: Node, run: int, hand: int, side: int) -> int:
        """Give a lower bound of the cost of any completion."""
        runs = 0
        for label in node.labels:
            if label != run:
                runs += label.bit_count()
        stretches = node.moves - (run > 0)
        steps = node.prepare_steps + (runs if runs > stretches else stretches)
        time = node.time + self.change * (node.tools & ~hand).bit_count()
        if node.sides:
            turns = (node.sides & ~(1 << side)).bit_count()
            time += self.turn * (turns if side else turns - 1)
        return steps * self.step + time * self.second + node.special


@dataclass(frozen=True, slots=True)
class Found:
    """Outcome of a search. `cost` None: no route found; `bound` is a lower bound of the cost, `steps` index and way."""

    status: Literal["proven", "unreachable", "open"]
    cost: int | None
    bound: int
    sequence: tuple[tuple[int, Way], ...]


def successors(
    view: TargetView, pricer: Pricer, state: State, node: Node
) -> Iterator[tuple[int, State, tuple[tuple[int, Way], ...]]]:
    """Give the ways on from a state: each with its cost, the state after it and the events done.

    If some releases that every completion contains cost no set-up now, they are done together and nothing else.
    """
    free = _free(view, node, state)
    if free:
        cost = 0
        for index, way in free:
            extra, state = pricer.apply(state, index, way, False)
            cost += extra
        yield cost, state, tuple(free)
        return
    for index, _, ways in node.available:
        for way in ways:
            cost, after = pricer.apply(state, index, way, bool(pricer.moves >> index & 1))
            yield cost, after, ((index, way),)


def _free(view: TargetView, node: Node, state: State) -> list[tuple[int, Way]]:
    """Releases that all completions contain, by a way that is cheapest in every respect and needs no set-up now."""
    _, run, _, side = state
    moves = view.problem.moves
    out = []
    for index, committed, ways in node.available:
        if committed and index >= moves:
            for way in view.plain_ways(index):
                if (way.tools == 0 or way.tools == run) and way.side in (0, side) and way in ways:
                    out.append((index, way))
                    break
    return out


def search(view: TargetView, pricer: Pricer, states: int) -> Found:
    """Find a cheapest sequence to the view's target, expanding at most `states` states."""
    first = view.node(0)
    if first.dead:
        return Found("unreachable", None, 0, ())
    bound = pricer.bound(first, NO_RUN, 0, 0)
    queue: list[tuple[int, int, State]] = [(bound, 0, START)]
    best: dict[State, int] = {START: 0}
    came: dict[State, tuple[State, tuple[tuple[int, Way], ...]]] = {}
    closed: set[State] = set()
    expanded = 0
    while queue:
        f, minus_g, state = heapq.heappop(queue)
        g = -minus_g
        if g > best[state]:
            continue
        if state[0] & view.goal:
            return Found("proven", g, g, _path(came, state))
        if expanded >= states:
            return Found("open", None, f, ())
        expanded += 1
        closed.add(state)
        for cost, after, _events in successors(view, pricer, state, view.node(state[0])):
            new = g + cost
            if new < best.get(after, 1 << 200):
                node = view.node(after[0]) if not after[0] & view.goal else None
                if node is not None and node.dead:
                    continue
                best[after] = new
                came[after] = (state, _events)
                h = 0 if node is None else pricer.bound(node, after[1], after[2], after[3])
                heapq.heappush(queue, (new + h, -new, after))
    return Found("unreachable", None, 0, ())


def _path(came: dict[State, tuple[State, tuple[tuple[int, Way], ...]]], state: State) -> tuple[tuple[int, Way], ...]:
    parts = []
    while state != START:
        state, events = came[state]
        parts.append(events)
    return tuple(event for events in reversed(parts) for event in events)
