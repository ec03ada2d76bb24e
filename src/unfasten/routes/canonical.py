"""Among all cheapest sequences the one that comes first, so that every machine names the same route.

Action lists are compared item by item as (do, id, way); no action may be removable. The search here goes depth first in
that order over everything that may be of use, within the proven least cost; it remembers what failed.
"""

from __future__ import annotations

from unfasten.routes.problem import Way
from unfasten.routes.search import START, Pricer, State
from unfasten.routes.target import TargetView


def canonical(view: TargetView, pricer: Pricer, cost: int, states: int) -> tuple[tuple[int, Way], ...] | None:
    """Give the first irreducible sequence of exactly this least cost; None if `states` were not enough.

    An action is removable if the others still form a legal sequence: so each must at its use be the only one to meet a
    requirement of a later action. `loose` holds the done events that no later one has needed alone so far.
    """
    failed: dict[tuple[State, int], int] = {}
    moves = pricer.moves
    # one frame per action: state, loose events, cost so far, and what is still to be tried (in order, last first)
    stack = [(START, 0, 0, _choices(view, pricer, START))]
    path: list[tuple[int, Way]] = []
    looked = 0
    while stack:
        state, loose, g, choices = stack[-1]
        if not choices:
            failed[state, loose] = cost - g
            stack.pop()
            if path:
                path.pop()
            continue
        index, way = choices.pop()
        price, after = pricer.apply(state, index, way, bool(moves >> index & 1))
        new = g + price
        if new > cost:
            continue
        still_loose = _loosen(view, state[0], loose, index, way)
        if after[0] & view.goal:
            if still_loose == view.goal and new == cost:
                return (*path, (index, way))
            continue
        node = view.node(after[0])
        if node.dead or new + pricer.bound(node, after[1], after[2], after[3]) > cost:
            continue
        if still_loose & ~view.wanted_by_later(after[0]):
            continue
        if failed.get((after, still_loose), -1) >= cost - new:
            continue
        looked += 1
        if looked > states:
            return None
        path.append((index, way))
        stack.append((after, still_loose, new, _choices(view, pricer, after)))
    raise AssertionError("no sequence of the proven cost was found")


def _choices(view: TargetView, pricer: Pricer, state: State) -> list[tuple[int, Way]]:
    node = view.node(state[0])
    pairs = [(index, way) for index, _, ways in node.available for way in ways]
    pairs.sort(key=lambda pair: pair[1].key, reverse=True)
    return pairs


def _loosen(view: TargetView, done: int, loose: int, index: int, way: Way) -> int:
    """Loose events after doing `index`: itself is loose, those it alone depends on no longer are."""
    loose &= ~view.problem.events[index].needs
    for clause in way.clauses:
        hit = clause & done
        if not hit & (hit - 1):
            loose &= ~hit
    return loose | 1 << index
