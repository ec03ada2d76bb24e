"""Take out of a route what another world does not need: a quick estimate of the shortest route there."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from types import MappingProxyType

from unfasten.routes.problem import Problem
from unfasten.routes.result import Action, Route

Clauses = Mapping[int, Sequence[int]]
_Block = tuple[int, int, tuple[Action, ...]]  # index of the event, position of its way, its actions


def prune(problem: Problem, route: Route, more: Clauses = MappingProxyType({})) -> tuple[Action, ...]:
    """The actions of the route that it needs in the world of `problem`, tried from the last to the first.

    The route must be legal there. All its actions, where it uses a way that no shortest route of this world would use.
    `more` gives further clauses by the index of their event.
    """
    blocks = _blocks(problem, route)
    if blocks is None:
        return route.actions
    target = problem.target[route.target]
    for place in range(len(blocks) - 1, -1, -1):
        if blocks[place][0] != target and _is_legal(problem, blocks, place, more):
            del blocks[place]
    return tuple(action for _, _, actions in blocks for action in actions)


def _blocks(problem: Problem, route: Route) -> list[_Block] | None:
    index = {(event.kind, event.id): number for number, event in enumerate(problem.events)}
    blocks: list[_Block] = []
    held: list[Action] = []
    for action in route.actions:
        held.append(action)
        if action.do == "prepare":
            continue
        number = index[action.do, action.id]
        ways = [position for position, way in enumerate(problem.events[number].ways) if way.number == action.way]
        if not ways:
            return None
        blocks.append((number, ways[0], tuple(held)))
        held = []
    return blocks


def _is_legal(problem: Problem, blocks: list[_Block], without: int, more: Clauses) -> bool:
    """Whether the sequence stays legal without the block at one place; what comes before it is not looked at again."""
    done = sum(1 << number for number, _, _ in blocks[:without])
    for number, position, _ in blocks[without + 1 :]:
        event = problem.events[number]
        if event.needs & ~done or event.forbids & done:
            return False
        if not all(clause & done for clause in (*event.ways[position].clauses, *more.get(number, ()))):
            return False
        done |= 1 << number
    return True
