"""Why a part sits as deep as it does: what each prerequisite costs, the best alternative, and what would save most.

Every figure is the difference between two exact routes: the best one, and the best one in the record with one thing
changed (a cover that is not in the way, a way or move that may not be used, a joint that comes undone by hand).
"""

from __future__ import annotations

from collections.abc import Iterator, Set
from dataclasses import dataclass
from fractions import Fraction

from unfasten.record.fold import fold_log, lift_of
from unfasten.record.joint import Joint, Way
from unfasten.record.part import Lift
from unfasten.record.record import Record
from unfasten.routes.blocked import Block, blocks
from unfasten.routes.reasons import Reason, covers_of, moved_parts, reasons
from unfasten.routes.result import Action, By, Reach, Route
from unfasten.routes.solve import Solver
from unfasten.routes.unknown import Unknown
from unfasten.routes.world import World


@dataclass(frozen=True, slots=True)
class Prerequisite:
    """A lift or swing on the way, why it is there, and what would be saved if what it moves were in nothing's way.

    `steps` and `time` [s] may be zero: then the route has another equally good reason or way.
    """

    action: Action
    reasons: tuple[Reason, ...]
    steps: int
    time: Fraction


@dataclass(frozen=True, slots=True)
class Alternative:
    """The best route that does without one choice of the best route.

    `route` None: there is none without it, and `blocks` are the chain of reasons (`routes/blocked.py`).
    """

    without: Action
    route: Route | None
    steps: int
    time: Fraction
    blocks: tuple[Block, ...] = ()


@dataclass(frozen=True, slots=True)
class Saving:
    """What a change of construction would save: an access hole (`cover` named) or a way by hand (`cover` None)."""

    action: Action
    cover: tuple[str, ...] | None
    steps: int
    time: Fraction


@dataclass(frozen=True, slots=True)
class Why:
    """The whole explanation of one part, for the route named by `world` ("high" where it exists, else "low")."""

    reach: Reach
    world: str
    route: Route | None
    prerequisites: tuple[Prerequisite, ...]
    alternatives: tuple[Alternative, ...]
    holes: tuple[Saving, ...]
    by_hand: tuple[Saving, ...]


def explain(record: Record, target: str, by: By = "steps", budget_s: float = 2.0) -> Why:
    """Explain the depth of a part of a record."""
    folded = fold_log(record)
    solver = Solver(folded, by, budget_s)
    reach = solver.reach(target)
    world = "low" if reach.high is None else "high"
    unknown = Unknown({}, {}, {}) if reach.high is None else solver.unknown
    route = reach.high or reach.low
    if route is None:
        return Why(reach, world, None, (), (), (), ())
    case = _Case(folded, unknown, route, by, budget_s)
    return Why(
        reach,
        world,
        route,
        tuple(case.prerequisites()),
        tuple(sorted(case.alternatives(), key=case.rank_of_alternative)),
        tuple(sorted(case.holes(), key=case.rank_of_saving)),
        tuple(sorted(case.by_hand(), key=case.rank_of_saving)),
    )


def prerequisites(record: Record, unknown: Unknown, route: Route, budget_s: float = 2.0) -> tuple[Prerequisite, ...]:
    """What has to move on a route (fewest steps) of a folded record in the world of `unknown`, and what each costs."""
    return tuple(_Case(record, unknown, route, "steps", budget_s).prerequisites())


def costs_of(
    record: Record, unknown: Unknown, route: Route, parts: Set[str], by: By = "steps", budget_s: float = 2.0
) -> tuple[tuple[Prerequisite, ...], tuple[Saving, ...]]:
    """What the moves of these parts cost on a route, and what an access hole in one of them would save, best first."""
    case = _Case(record, unknown, route, by, budget_s)
    holes = sorted(case.holes(parts), key=case.rank_of_saving)
    return tuple(case.prerequisites(parts)), tuple(holes)


@dataclass(frozen=True, slots=True)
class _Case:
    """One route in its world, and the routes of worlds that differ in one thing."""

    record: Record
    unknown: Unknown
    route: Route
    by: By
    budget_s: float

    def prerequisites(self, parts: Set[str] | None = None) -> Iterator[Prerequisite]:
        """Of every move, or of those that move one of `parts` and not the target with it."""
        actions = self.route.actions
        for number, action in enumerate(actions):
            moved = set(moved_parts(self.record, action))
            if parts is not None and (not parts & moved or self.route.target in moved):
                continue
            if action.do in ("lift", "swing") and action.part != self.route.target:
                why = reasons(self.record, self.unknown, actions, number)
                cleared = {reason.cover for reason in why}
                route = World(*_without_covers(self.record, self.unknown, cleared), self.by, self.budget_s).route(
                    self.route.target
                )
                yield Prerequisite(action, why, *self._saved(route))

    def alternatives(self) -> Iterator[Alternative]:
        for action in self.route.actions:
            if action.do == "prepare" or action.part == self.route.target:
                continue
            if action.do == "release" and len(self.record.joints[action.id].ways) == 1:
                continue
            barred = frozenset({(action.do, action.id, action.way)})
            world = World(self.record, self.unknown, self.by, self.budget_s, barred)
            route = world.route(self.route.target)
            saved = self._saved(route)
            chain: tuple[Block, ...] = ()
            if route is None and world.table[world.problem.target[self.route.target]] < 0:
                chain = blocks(self.record, self.unknown, barred, world.table, self.route.target)
            yield Alternative(action, route, -saved[0], -saved[1], chain)

    def holes(self, parts: Set[str] | None = None) -> Iterator[Saving]:
        """Over every release and lift of the route, or only where one of `parts` covers."""
        for action in self.route.actions:
            if action.do == "prepare":
                continue
            clauses, open_covers = covers_of(self.record, self.unknown, action)
            for clause in (*clauses, *((part,) for part in open_covers)):
                if parts is not None and not parts & set(clause):
                    continue
                changed = _with_hole(self.record, self.unknown, action, clause)
                saving = Saving(action, clause, *self._saved(self._solve(*changed)))
                if saving.steps > 0 or (saving.steps == 0 and saving.time > 0):
                    yield saving

    def by_hand(self) -> Iterator[Saving]:
        for action in self.route.actions:
            if action.do == "release" and action.joint is not None:
                joint = self.record.joints[action.joint]
                way = joint.ways[action.way or 0]
                if way.tools or way.prepare:
                    plain = way.model_copy(update={"tools": (), "prepare": ()})
                    changed = _with_way(self.record, action.joint, joint, action.way or 0, plain)
                    saving = Saving(action, None, *self._saved(self._solve(changed, self.unknown)))
                    if saving.steps > 0 or (saving.steps == 0 and saving.time > 0):
                        yield saving

    def rank_of_saving(self, saving: Saving) -> tuple[object, ...]:
        pair = (-saving.steps, -saving.time)
        return (*(pair if self.by == "steps" else pair[::-1]), saving.action.id, saving.cover or ())

    def rank_of_alternative(self, other: Alternative) -> tuple[object, ...]:
        pair = (other.steps, other.time)
        return (other.route is None, *(pair if self.by == "steps" else pair[::-1]), other.without.id)

    def _solve(self, record: Record, unknown: Unknown) -> Route | None:
        return World(record, unknown, self.by, self.budget_s).route(self.route.target)

    def _saved(self, route: Route | None) -> tuple[int, Fraction]:
        if route is None:
            return 0, Fraction(0)
        return self.route.steps - route.steps, self.route.time - route.time


def _without_covers(record: Record, unknown: Unknown, parts: set[str]) -> tuple[Record, Unknown]:
    """The record in which these parts are in the way of nothing."""

    def kept(clauses: tuple[tuple[str, ...], ...]) -> tuple[tuple[str, ...], ...]:
        return tuple(clause for clause in clauses if not parts & set(clause))

    def clear(lift: Lift) -> Lift:
        return lift.model_copy(update={"behind": kept(lift.behind)})

    joints = {}
    for name, joint in record.joints.items():
        ways = tuple(way.model_copy(update={"under": kept(way.under)}) for way in joint.ways)
        joints[name] = joint.model_copy(update={"ways": ways})
    changed = {
        "joints": joints,
        "parts": {n: p.model_copy(update={"lift": clear(lift_of(p))}) for n, p in record.parts.items()},
        "bundles": {n: b.model_copy(update={"lift": clear(b.lift)}) for n, b in record.bundles.items()},
        "swings": {n: s.model_copy(update={"lift": clear(s.lift)}) for n, s in record.swings.items()},
    }
    rest = Unknown(
        {key: tuple(p for p in covers if p not in parts) for key, covers in unknown.ways.items()},
        {key: tuple(p for p in covers if p not in parts) for key, covers in unknown.parts.items()},
        {key: tuple(p for p in covers if p not in parts) for key, covers in unknown.bundles.items()},
    )
    return record.model_copy(update=changed), rest


def _with_hole(record: Record, unknown: Unknown, action: Action, clause: tuple[str, ...]) -> tuple[Record, Unknown]:
    """The record in which one clause no longer stands over one release, or before one lift or swing."""
    if action.joint is not None:
        number = action.way or 0
        key = (action.joint, number)
        ways = unknown.ways | {key: tuple(p for p in unknown.ways.get(key, ()) if (p,) != clause)}
        joint = record.joints[action.joint]
        way = joint.ways[number]
        under = tuple(c for c in way.under if c != clause)
        changed = way.model_copy(update={"under": under})
        return _with_way(record, action.joint, joint, number, changed), Unknown(ways, unknown.parts, unknown.bundles)
    table = "bundles" if action.bundle else "swings" if action.swing else "parts"
    things = dict(getattr(record, table))
    lift = lift_of(things[action.id]) if table == "parts" else things[action.id].lift
    lift = lift.model_copy(update={"behind": tuple(c for c in lift.behind if c != clause)})
    things[action.id] = things[action.id].model_copy(update={"lift": lift})
    covers = {name: dict(getattr(unknown, name)) for name in ("parts", "bundles")}
    if table in covers and action.id in covers[table]:
        covers[table][action.id] = tuple(p for p in covers[table][action.id] if (p,) != clause)
    return record.model_copy(update={table: things}), Unknown(unknown.ways, covers["parts"], covers["bundles"])


def _with_way(record: Record, name: str, joint: Joint, number: int, way: Way) -> Record:
    ways = (*joint.ways[:number], way, *joint.ways[number + 1 :])
    return record.model_copy(update={"joints": record.joints | {name: joint.model_copy(update={"ways": ways})}})
