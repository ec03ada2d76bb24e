"""Cost of a sequence of actions: steps as the regulation counts them, and time.

Steps: the sequence is cut into stretches, each ending with a lift or swing. Consecutive releases with the same tool set
are one run; bare-hand releases join the run they stand in; a lift with tools counts as a release with them just before
it; every preparation is a run of its own. A run with n tools at once counts n, every other run 1. The closing lift
belongs to the last run; it counts 1 itself where there is no run or the last run is a preparation.
Source: Delegated Regulation (EU) 2023/1669 Annex I(20) and Annex IV point 5, read as docs/readings.md states.

Time: work times + one tool change for each tool picked up that was not in hand + one turn for each change of side.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from fractions import Fraction

from unfasten.record.record import Record
from unfasten.routes.result import Action


@dataclass(frozen=True, slots=True)
class Line:
    """State after one action: stretch number (from 1), steps and seconds so far, what the action picked up or turned.

    `steps` counts an action's run as soon as it opens; `picked` are the tools taken in hand.
    """

    action: Action
    stretch: int
    steps: int
    time: Fraction
    picked: tuple[str, ...]
    turned: bool


@dataclass(frozen=True, slots=True)
class _Count:
    """One action with the number of its stretch, the steps so far, the tools picked up, and whether it turned."""

    action: Action
    stretch: int
    steps: int
    picked: frozenset[str]
    turned: bool


def tally(record: Record, actions: Iterable[Action]) -> tuple[Line, ...]:
    """Count steps and time after each action of a sequence; legality is not checked here (see `replay`)."""
    change, turn = _setup(record)
    time = Fraction(0)
    lines = []
    for one in _count(actions):
        time += one.action.work + change * len(one.picked) + (turn if one.turned else 0)
        lines.append(Line(one.action, one.stretch, one.steps, time, tuple(sorted(one.picked)), one.turned))
    return tuple(lines)


def cost(record: Record, actions: Iterable[Action]) -> tuple[int, Fraction]:
    """Steps (without pairing additions) and time in seconds of a whole sequence."""
    change, turn = _setup(record)
    steps = whole = picks = turns = 0
    parts = Fraction(0)
    for one in _count(actions):
        steps, work = one.steps, one.action.work
        picks += len(one.picked)
        turns += one.turned
        if work.denominator == 1:
            whole += work.numerator
        else:
            parts += work
    return steps, parts + whole + change * picks + turn * turns


def _setup(record: Record) -> tuple[Fraction, Fraction]:
    return Fraction(record.setup.tool_change.si), Fraction(record.setup.turn_over.si)


def _count(actions: Iterable[Action]) -> Iterator[_Count]:
    hand: frozenset[str] = frozenset()
    side: str | None = None
    run: frozenset[str] | str | None = None  # tool set, "prepare", or None at the start of a stretch
    steps, stretch = 0, 1
    for action in actions:
        tools = frozenset(action.tools)
        picked = tools - hand
        turned = action.side != "any" and side is not None and action.side != side
        side = side if action.side == "any" else action.side
        hand = tools or hand
        if action.do == "prepare":
            steps, run = steps + max(1, len(tools)), "prepare"
        elif tools and run != tools:
            steps, run = steps + len(tools), tools
        number = stretch
        if action.do in ("lift", "swing"):
            steps += run is None or run == "prepare"
            run, stretch = None, stretch + 1
        yield _Count(action, number, steps, picked, turned)
