"""A good route where the exact search ran out of budget: a beam over the same ways on, and no proof."""

from __future__ import annotations

from typing import Final

from unfasten.routes.problem import Way
from unfasten.routes.search import START, Pricer, State, successors
from unfasten.routes.target import TargetView

WIDTH: Final = 30


def beam(view: TargetView, pricer: Pricer, width: int = WIDTH) -> tuple[tuple[int, Way], ...]:
    """Give a legal sequence to the target, the cheapest that a beam of `width` finds.

    Raises `LookupError` if the beam meets dead ends only.
    """
    layer: list[tuple[int, int, State, tuple[tuple[int, Way], ...]]] = [(0, 0, START, ())]
    best: tuple[int, tuple[tuple[int, Way], ...]] | None = None
    while layer:
        after: dict[State, tuple[int, int, State, tuple[tuple[int, Way], ...]]] = {}
        for _, g, state, path in layer:
            for cost, following, events in successors(view, pricer, state, view.node(state[0])):
                new, longer = g + cost, path + events
                if following[0] & view.goal:
                    if best is None or new < best[0]:
                        best = (new, longer)
                    continue
                node = view.node(following[0])
                if node.dead:
                    continue
                f = new + pricer.bound(node, following[1], following[2], following[3])
                if (best is None or f < best[0]) and (following not in after or f < after[following][0]):
                    after[following] = (f, new, following, longer)
        layer = sorted(after.values(), key=lambda entry: (entry[0], entry[2]))[:width]
    if best is None:
        raise LookupError("the beam met dead ends only")
    return best[1]
