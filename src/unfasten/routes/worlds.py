"""All worlds between none and all of a record's open covers, and the shortest routes in them, each searched once."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction

from unfasten.record.record import Record
from unfasten.routes.opencover import OpenCover, open_covers, taken_as_real
from unfasten.routes.pairing import additions
from unfasten.routes.problem import compile_problem
from unfasten.routes.prune import prune
from unfasten.routes.replay import IllegalRouteError, replay
from unfasten.routes.result import Action, By, Reach, Route
from unfasten.routes.scope import Events, Scope
from unfasten.routes.unknown import Unknown, unknown_covers
from unfasten.routes.world import DEFAULT_BUDGET_S, World

Covers = frozenset[OpenCover]
_NONE: Covers = frozenset()


@dataclass(frozen=True, slots=True)
class Answers:
    """What was answered: covers that are real, and covers that are clear."""

    real: Covers = field(default=_NONE)
    clear: Covers = field(default=_NONE)

    def told(self, cover: OpenCover, *, real: bool) -> Answers:
        """These answers and one more."""
        return Answers(self.real | {cover}, self.clear) if real else Answers(self.real, self.clear | {cover})


class Worlds:
    """Routes of a folded record in any of its worlds. A world is named by the open covers that are real in it."""

    def __init__(self, record: Record, by: By = "steps", budget_s: float = DEFAULT_BUDGET_S) -> None:
        self.record = record
        self.by: By = by
        self.budget_s = budget_s
        self.unknown: Unknown = unknown_covers(record)
        self.covers = open_covers(self.unknown)
        self.scope = Scope(record, self.unknown)
        self._cut: dict[str, Record] = {}
        self._events: dict[str, Events] = {}
        self._relevant: dict[str, Covers] = {}
        self._routes: dict[tuple[str, Covers], Route | None] = {}

    def events(self, target: str) -> Events:
        """Events that can matter to the target in some world."""
        if target not in self._events:
            self._events[target] = self.scope.events(target)
        return self._events[target]

    def relevant(self, target: str) -> Covers:
        """Open covers that can matter to the target in some world."""
        if target not in self._relevant:
            events = self.events(target)
            self._relevant[target] = frozenset(cover for cover in self.covers if cover.event in events)
        return self._relevant[target]

    def route(self, target: str, real: Covers, budget_s: float | None = None) -> Route | None:
        """The shortest route to the target in the world where just these covers are real; None if there is none.

        `budget_s` [s] is nominal; a route that was found before is given as it was found.
        """
        key = target, real & self.relevant(target)
        if key not in self._routes:
            self._routes[key] = self._world(*key, budget_s).route(target)
        return self._routes[key]

    def most(self, target: str, answers: Answers) -> Covers:
        """The covers that are real in the target's high world after these answers."""
        return self.relevant(target) - answers.clear | answers.real & self.relevant(target)

    def pruned(self, route: Route, real: Covers) -> Route:
        """The route without the actions that it does not need in this world: legal, but perhaps not the shortest."""
        record, unknown = self.cut(route.target), taken_as_real(real & self.relevant(route.target))
        actions = prune(compile_problem(record, unknown), route)
        steps, time = replay(record, actions, route.target, unknown)
        return replace(route, actions=actions, steps=steps, time=time, bound=Fraction(steps))

    def reach(self, target: str, answers: Answers) -> Reach:
        """Low and high route to the target after these answers."""
        added = additions(self.record, (target,))
        low = self.route(target, answers.real)
        if low is None:
            return Reach(target, None, None, added, self._world(target, answers.real).reason(target))
        most = self.most(target, answers)
        high = self.route(target, most)
        reason = None if high else self._world(target, most).reason(target)
        return Reach(target, low, high, added, reason)

    def breaking(self, route: Route, covers: Iterable[OpenCover]) -> tuple[OpenCover, ...]:
        """Those of the covers that would make the route illegal if they were real; each does so by itself."""
        done = {(a.do, a.id, a.way) for a in route.actions}
        used = (c for c in covers if ("release" if c.kind == "joint" else "lift", c.id, c.way) in done)
        return tuple(sorted(cover for cover in used if self._breaks(route, cover)))

    def _breaks(self, route: Route, cover: OpenCover) -> bool:
        return not _legal(self.cut(route.target), route.actions, route.target, taken_as_real([cover]))

    def _world(self, target: str, real: Covers, budget_s: float | None = None) -> World:
        relevant = real & self.relevant(target)
        unknown = taken_as_real(relevant) if relevant else None
        return World(self.cut(target), unknown, self.by, self.budget_s if budget_s is None else budget_s)

    def cut(self, target: str) -> Record:
        """The record cut to what can matter to the target."""
        if target not in self._cut:
            self._cut[target] = self.scope.cut(self.events(target))
        return self._cut[target]


def _legal(record: Record, actions: Sequence[Action], target: str, unknown: Unknown) -> bool:
    try:
        replay(record, actions, target, unknown)
    except IllegalRouteError:
        return False
    return True
