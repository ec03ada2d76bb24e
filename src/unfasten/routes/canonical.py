"""Among all cheapest sequences the one that comes first, so that every machine names the same route.

Action lists are compared item by item as (do, id, way); no action may be removable. The search goes depth first in that
order through one plan and follows only what can still be completed at the proven least cost.
"""

from __future__ import annotations

from unfasten.routes.necessity import bits
from unfasten.routes.plan import Plan
from unfasten.routes.price import START, State
from unfasten.routes.schedule import Schedule, Step


def first_in_order(schedule: Schedule, cost: int, goal: int) -> tuple[Step, ...] | None:
    """Give the first irreducible sequence of exactly this least cost; None if all of this plan have a removable action.

    `goal` are the targets' lifts, which nothing later needs.

    An action is removable if the others still form a legal sequence, so each must at some later action be the only one
    to meet a requirement of it. `loose` holds the done events that no later one has needed alone so far.
    Raises `OutOfWorkError`.
    """
    plan = schedule.plan
    failed: set[tuple[State, int]] = set()
    stack: list[tuple[State, int, int, list[Step]]] = [(START, 0, cost, _choices(plan, START))]
    path: list[Step] = []
    while stack:
        state, loose, budget, choices = stack[-1]
        if not choices:
            failed.add((state, loose))
            stack.pop()
            if path:
                path.pop()
            continue
        index, way = choices.pop()
        price, after = schedule.pricer.apply(state, index, way)
        still_loose = _loosen(plan, state[0], loose, (index, way))
        if after[0] == plan.events:
            if price == budget and still_loose & ~goal == 0:
                return (*path, (index, way))
            continue
        if (after, still_loose) in failed or still_loose & ~_wanted(plan, after[0]):
            continue
        if not schedule.completes(after, budget - price):
            continue
        path.append((index, way))
        stack.append((after, still_loose, budget - price, _choices(plan, after)))
    return None


def keys(sequence: tuple[Step, ...]) -> list[tuple[str, str, int]]:
    """What sequences are compared by."""
    return [key for _, way in sequence for key in way.key]


def _choices(plan: Plan, state: State) -> list[Step]:
    """Steps possible now, in order, last first."""
    pairs = [(index, way) for index, ready in plan.node(state[0]).available for way in ready]
    pairs.sort(key=lambda pair: pair[1].key, reverse=True)
    return pairs


def _loosen(plan: Plan, done: int, loose: int, step: Step) -> int:
    """Loose events after a step: it is loose itself, those that it alone depends on no longer are."""
    index, way = step
    loose &= ~plan.problem.events[index].needs
    for clause in way.clauses:
        hit = clause & done
        if not hit & (hit - 1):
            loose &= ~hit
    return loose | 1 << index


def _wanted(plan: Plan, done: int) -> int:
    """Done events without which something still to be done would lack a requirement."""
    found = 0
    for index in bits(plan.events & ~done):
        found |= plan.problem.events[index].needs & done
        for way in plan.ways[index]:
            for clause in way.clauses:
                hit = clause & done
                if not hit & (hit - 1):
                    found |= hit
    return found
