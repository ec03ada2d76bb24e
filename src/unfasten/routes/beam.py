"""A good sequence where the exact search ran out of its allowance: a beam over the same ways on, and no proof."""

from __future__ import annotations

from typing import Final

from unfasten.routes.allowance import OutOfWorkError
from unfasten.routes.price import START, State
from unfasten.routes.schedule import Schedule, Step

WIDTH: Final = 60
#: width where the least first cost is known and kept to
NARROW: Final = 8
Entry = tuple[int, int, State, tuple[Step, ...]]  # bound of the whole, cost so far, state, what was done


def beam(schedule: Schedule) -> tuple[Step, ...] | None:
    """Give a legal sequence through the plan, the cheapest that a beam finds; None if all ends are dead.

    Where the least first cost of the plan can still be found, the sequence has it.
    """
    try:
        return _beam(schedule, NARROW, (schedule.least_first(START) + 1) * schedule.pricer.first - 1)
    except OutOfWorkError:
        return _beam(schedule, WIDTH, None)


def _beam(schedule: Schedule, width: int, most: int | None) -> tuple[Step, ...] | None:
    layer: list[Entry] = [(0, 0, START, ())]
    best: tuple[int, tuple[Step, ...]] | None = None
    while layer:
        after: dict[State, Entry] = {}
        for _, g, state, path in layer:
            for cost, following, steps in schedule.onward(state):
                new, longer = g + cost, path + steps
                h = schedule.bound(following)
                if h is None or (best is not None and new + h >= best[0]):
                    continue
                if most is not None and (new + h > most or not schedule.first_within(following, most - new)):
                    continue
                if following[0] == schedule.plan.events:
                    best = (new, longer)
                elif following not in after or new + h < after[following][0]:
                    after[following] = (new + h, new, following, longer)
        layer = sorted(after.values(), key=lambda entry: (entry[0], entry[2]))[:width]
    return None if best is None else best[1]
