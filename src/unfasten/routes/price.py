"""Prices: what an action costs in a state, as one integer.

The integer compares as (steps, time, special releases) or (time, steps, special releases); a special release is one
that needs a tool which is neither none nor basic.
"""

from __future__ import annotations

from typing import Final

from unfasten.routes.problem import Event, Problem, Way, prepare_steps
from unfasten.routes.result import By

#: no run is open that a lift could close: at the start of a stretch, and after a preparation
NO_RUN: Final = 0
#: done, run (tool mask or NO_RUN), hand (tool mask), side
State = tuple[int, int, int, int]
START: Final[State] = (0, NO_RUN, 0, 0)


class Pricer:
    """Prices actions and bounds completions for one problem and objective."""

    def __init__(self, problem: Problem, by: By) -> None:
        self.change = problem.change
        self.turn = problem.turn
        self.moves = problem.moves
        releases = len(problem.events) + 1
        self.alone = tuple(_alone(event) for event in problem.events)
        most_time, most_steps = _most(problem)
        self.by = by
        self.step = most_time * releases if by == "steps" else releases
        self.second = releases if by == "steps" else most_steps * releases
        self.first = max(self.step, self.second)

    def apply(self, state: State, index: int, way: Way) -> tuple[int, State]:
        """Cost of doing event `index` by `way`, and the state after it."""
        done, run, hand, side = state
        steps = 0
        time = way.time
        if way.side and side != way.side:
            if side:
                time += self.turn
            side = way.side
        for tools, seconds in way.prepare:
            run = NO_RUN
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
        if index < self.moves:
            if run == NO_RUN:
                steps += 1
            run = NO_RUN
        return steps * self.step + time * self.second + way.special, (done | 1 << index, run, hand, side)

    def conversion(self, have: State, want: State) -> int:
        """Give what at most it costs more to go on from `have` than from `want` if both have the same events done."""
        run = want[1]
        steps = run.bit_count() if run and run != have[1] else 0
        time = self.change * (want[2] & ~have[2]).bit_count() + (self.turn if have[3] != want[3] else 0)
        return steps * self.step + time * self.second


def _alone(event: Event) -> tuple[int, int, int, int]:
    """Time, steps of preparations and special tools of an event at least, and the label if all ways share it."""
    ways = event.ways
    if len(ways) == 1:
        return ways[0].total, prepare_steps(ways[0]), ways[0].special, ways[0].tools
    return (
        min((way.total for way in ways), default=0),
        min((prepare_steps(way) for way in ways), default=0),
        min((way.special for way in ways), default=0),
        ways[0].tools if len({way.tools for way in ways}) == 1 else 0,
    )


def _most(problem: Problem) -> tuple[int, int]:
    """More time, and more steps, than doing every event once can cost."""
    time = steps = 1
    tools = len(problem.tools)
    for event in problem.events:
        times = [w.total + (problem.change * tools + problem.turn) * (1 + len(w.prepare)) for w in event.ways]
        counts = [1 + w.tools.bit_count() + sum(1 + p.bit_count() for p, _ in w.prepare) for w in event.ways]
        time += max(times, default=0)
        steps += max(counts, default=0)
    return time, steps
