"""Routes kept up to date while a record grows: after each edit only those are searched that it can have changed.

A route depends on nothing but its excerpt (`routes/excerpt.py`), so it is looked up by that. The keeper therefore
needs no account of what was edited: it takes any record, and an entry taken back costs nothing at all.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from unfasten.record.record import Record
from unfasten.routes.excerpt import Contents, Key, key
from unfasten.routes.pairing import additions
from unfasten.routes.result import By, Reach, Route
from unfasten.routes.unknown import unknown_covers
from unfasten.routes.world import DEFAULT_BUDGET_S, World

ORDERS: Final[tuple[By, By]] = ("steps", "time")
#: routes and event contents that are kept; the routes not asked for longest go first
MOST: Final = 50_000

Reaches = Mapping[By, Mapping[str, Reach]]
Pair = tuple[Route | None, Route | None]


class Keeper:
    """Answers for one record after another, as it is edited; the same answers as `routes.solve.solve_both` gives.

    Use: one keeper for each record that is being edited, and after every edit::

        keeper = Keeper(budget_s=2.0)
        reaches = keeper.update(fold_log(record))
        reaches["steps"]["battery"].steps_high

    `searched` then names the parts of which a route had to be searched. Not for use by two threads at once.
    """

    def __init__(self, budget_s: float = DEFAULT_BUDGET_S) -> None:
        """`budget_s` [s]: most search for a route, nominal (see `World`)."""
        self.budget_s = budget_s
        self.contents = Contents()
        self.known: dict[Key, Pair] = {}
        self.searched: tuple[str, ...] = ()

    def update(self, record: Record) -> Reaches:
        """The reach of every part but the one that stays, by steps and by time, in the record's order.

        `record` must be folded (`record.fold.fold_log`) and free of findings that forbid routes.
        """
        unknown = unknown_covers(record)
        low = _Kept(self, World(record, None, "steps", self.budget_s))
        high = _Kept(self, World(record, unknown, "steps", self.budget_s, like=low.world), low) if unknown else low
        names = [name for name, part in record.parts.items() if not part.stays]
        reaches: dict[By, dict[str, Reach]] = {by: {} for by in ORDERS}
        self.searched = ()
        for name in names:
            easy, hard = low.routes(name), high.routes(name)
            added = additions(record, (name,))
            for by, first, last in zip(ORDERS, easy, hard, strict=True):
                reason = None if first and last else (high if first else low).world.reason(name)
                reaches[by][name] = Reach(name, first, first and last, added, reason)
        self._forget()
        return reaches

    def _forget(self) -> None:
        if len(self.contents.numbers) > MOST:
            self.contents, self.known = Contents(), {}
        for old in list(self.known)[: max(0, len(self.known) - MOST)]:
            del self.known[old]


class _Kept:
    """One world of the record at hand, whose routes are taken from the keeper where it has them."""

    def __init__(self, keeper: Keeper, world: World, like: _Kept | None = None) -> None:
        self.keeper = keeper
        self.world = world
        shared = None if like is None else (like.world.problem, like.contents)
        self.contents: list[int] = keeper.contents.of(world.problem, shared)

    def routes(self, name: str) -> Pair:
        """The routes to a part by steps and by time; None where there is none."""
        world, known = self.world, self.keeper.known
        target = world.problem.target[name]
        if world.table[target] < 0:
            return None, None
        within = world.closure(name)
        sought = key(world.problem, self.contents, within, (target,))
        pair = known.pop(sought, None)
        if pair is None:
            pair = world.route(name, by="steps"), world.route(name, by="time")
            self.keeper.searched = (*self.keeper.searched, name)
        known[sought] = pair
        return pair
