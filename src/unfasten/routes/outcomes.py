"""Every outcome that some truth about the open covers can have: which routes would then be the shortest."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from unfasten.routes.opencover import OpenCover
from unfasten.routes.result import Route
from unfasten.routes.worlds import Covers, Worlds

Outcome = Mapping[str, Route | None]


def outcomes(worlds: Worlds, targets: Sequence[str], asked: Covers) -> Iterator[Outcome]:
    """Yield the routes to the targets for every truth about the covers in `asked`, extremes first; a set may repeat.

    Not one by one: a route stays the shortest in every world that keeps it legal, for more covers allow less. So only
    covers that break a route of the outcome at hand are taken as real next. The number can still grow as a power of
    two: take what you need and stop.
    """
    for real in (frozenset[OpenCover](), asked):
        yield {target: worlds.route(target, real) for target in targets}
    pending: list[tuple[Covers, Covers]] = [(frozenset(), frozenset())]
    while pending:
        real, clear = pending.pop()
        found = {target: worlds.route(target, real) for target in targets}
        if real:
            yield found
        breaking: set[OpenCover] = set()
        for route in found.values():
            if route is not None:
                breaking.update(worlds.breaking(route, asked - real - clear))
        before = clear
        for cover in sorted(breaking):
            pending.append((real | {cover}, before))
            before |= {cover}
