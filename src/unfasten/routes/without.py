"""Could a part not have been reached without something? The best routes without it, or the proof that there is none.

What is done without may not happen at all: a part is not taken out (alone or in a bundle), a bundle not lifted, a swing
not made, a joint not undone, a tool not used, a preparation not done. Both worlds are asked: no unknown cover real
(low), all of them (high). More covers only forbid, so what no route of the low world can spare, none of any world can.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Final, Literal

from unfasten.record.fold import lift_of
from unfasten.record.record import Record
from unfasten.routes.blocked import Block, blocks
from unfasten.routes.necessity import reachable
from unfasten.routes.problem import Barred
from unfasten.routes.result import By, Reach, Route
from unfasten.routes.solve import Solver
from unfasten.routes.unknown import Unknown
from unfasten.routes.world import World

Kind = Literal["part", "bundle", "swing", "joint", "tool", "preparation"]
#: tables of a record in which a name is looked for, in this order; preparations have no table
TABLES: Final[tuple[tuple[str, Kind], ...]] = (
    ("parts", "part"),
    ("joints", "joint"),
    ("bundles", "bundle"),
    ("swings", "swing"),
    ("tools", "tool"),
)
PREPARATIONS: Final = ("heat", "clean")
#: needed: on every route, whatever the unknown covers are; spared: on no shortest route; choice: a route without it
#: exists in both worlds; open: that depends on the unknown covers; unreachable: there is no route to the part at all
Verdict = Literal["needed", "spared", "choice", "open", "unreachable"]


@dataclass(frozen=True, slots=True)
class Thing:
    """Something to do without: its kind and id."""

    kind: Kind
    id: str


@dataclass(frozen=True, slots=True)
class Side:
    """One world: the best route, the best route without the things, or what keeps every such route from the part.

    `alone` are then those of several things of which each by itself can be spared on no route. `reason` stands where no
    chain of `blocks` can be given: moves that are needed rule each other out.
    """

    world: Literal["low", "high"]
    best: Route | None
    route: Route | None
    blocks: tuple[Block, ...] = ()
    reason: str | None = None
    alone: tuple[Thing, ...] = ()

    @property
    def more(self) -> tuple[int, Fraction] | None:
        """Steps and time [s] that the route without the things costs more; None where there is none."""
        if self.best is None or self.route is None:
            return None
        return self.route.steps - self.best.steps, self.route.time - self.best.time


@dataclass(frozen=True, slots=True)
class Without:
    """The answer for one part and the things to do without; `unknown` are the unknown covers of the folded record."""

    reach: Reach
    things: tuple[Thing, ...]
    low: Side
    high: Side
    unknown: Unknown

    @property
    def verdict(self) -> Verdict:
        """What the two worlds say together."""
        if self.low.best is None:
            return "unreachable"
        if self.low.route is None:
            return "needed"
        if self.high.best is not None and self.high.route is None:
            return "open"
        sides = [side for side in (self.low, self.high) if side.best is not None]
        return "spared" if all(side.route == side.best for side in sides) else "choice"

    @property
    def proven(self) -> bool:
        """Tell whether every route that was compared is proven; that there is none always is."""
        routes = (self.low.best, self.low.route, self.high.best, self.high.route)
        return all(route.proven for route in routes if route is not None)


def without(record: Record, target: str, things: Sequence[Thing], by: By = "steps", budget_s: float = 2.0) -> Without:
    """Answer for one part of a folded record; `things` must name what the record has, and not the target itself."""
    solver = Solver(record, by, budget_s)
    reach = solver.reach(target)
    bar = _Bar(record, target, tuple(things), by, budget_s)
    low = bar.side(None, "low", reach.low)
    if solver.high is solver.low:
        return Without(reach, tuple(things), low, low, solver.unknown)
    return Without(reach, tuple(things), low, bar.side(solver.unknown, "high", reach.high), solver.unknown)


def bars(record: Record, thing: Thing) -> Iterator[Barred]:
    """The events that may not happen where a thing is done without."""
    if thing.kind == "part":
        yield "lift", thing.id, None
        yield from (("lift", name, None) for name, bundle in record.bundles.items() if thing.id in bundle.parts)
    elif thing.kind == "bundle":
        yield "lift", thing.id, None
    elif thing.kind == "swing":
        yield "swing", thing.id, None
    elif thing.kind == "joint":
        yield from (("release", thing.id, number) for number in range(len(record.joints[thing.id].ways)))
    else:
        yield from _users(record, thing)


def _users(record: Record, thing: Thing) -> Iterator[Barred]:
    """Ways, lifts and swings that use a tool, or that need a preparation."""
    for name, joint in record.joints.items():
        for number, way in enumerate(joint.ways):
            if thing.kind == "preparation":
                used = any(one.do == thing.id for one in way.prepare)
            else:
                used = thing.id in (*way.tools, *(tool for one in way.prepare for tool in one.tools))
            if used:
                yield "release", name, number
    if thing.kind == "tool":
        lifts = {name: lift_of(part) for name, part in record.parts.items() if not part.stays}
        lifts |= {name: bundle.lift for name, bundle in record.bundles.items()}
        yield from (("lift", name, None) for name, lift in lifts.items() if thing.id in lift.tools)
        yield from (("swing", name, None) for name, swing in record.swings.items() if thing.id in swing.lift.tools)


@dataclass(frozen=True, slots=True)
class _Bar:
    """A part, and the things that may not be used on the way to it."""

    record: Record
    target: str
    things: tuple[Thing, ...]
    by: By
    budget_s: float

    def side(self, real: Unknown | None, name: Literal["low", "high"], best: Route | None) -> Side:
        barred = self._barred(self.things)
        world = World(self.record, real, self.by, self.budget_s, barred)
        route = world.route(self.target)
        if route is not None:
            return Side(name, best, route)
        alone = tuple(thing for thing in self.things if len(self.things) == 1 or self._needed(thing, real))
        if alone and alone != self.things:  # the proof need not speak of the others
            barred = self._barred(alone[:1])
            world = World(self.record, real, self.by, self.budget_s, barred)
        if world.table[world.problem.target[self.target]] >= 0:
            return Side(name, best, None, (), world.reason(self.target), alone)
        return Side(name, best, None, blocks(self.record, real, barred, world.table, self.target), None, alone)

    def _needed(self, thing: Thing, real: Unknown | None) -> bool:
        world = World(self.record, real, self.by, self.budget_s, self._barred((thing,)))
        target = world.problem.target[self.target]
        return not reachable(world.problem, world.table, (target,), world.closure(self.target))

    def _barred(self, things: Sequence[Thing]) -> frozenset[Barred]:
        return frozenset(one for thing in things for one in bars(self.record, thing))
