"""A record compiled for the search: events as bits, and for each event what must have happened before it.

Events are *moves* (a part lifted alone, a bundle lifted, a part swung aside) and *releases* of joints. Each happens at
most once. A cover is cleared by any of several moves, so every condition is a conjunction of clauses, each a mask of
moves of which one suffices; only bundles and swings also have moves that rule them out. Times are integers in a unit
common to the record, tools and sides are numbered.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from decimal import Decimal
from fractions import Fraction
from functools import lru_cache
from math import lcm

from unfasten.record.fold import lift_of
from unfasten.record.joint import Joint as RecordJoint
from unfasten.record.joint import Way as RecordWay
from unfasten.record.part import Lift
from unfasten.record.record import Record
from unfasten.record.types import Noun
from unfasten.routes.result import Action
from unfasten.routes.unknown import Unknown


@dataclass(frozen=True, slots=True)
class Way:
    """One manner of doing an event. Masks: `tools` over tools, each clause over moves. Times in the common unit."""

    number: int | None
    tools: int
    side: int
    time: int
    prepare: tuple[tuple[int, int], ...]
    clauses: tuple[int, ...]
    special: int  # 1 where a release needs a tool that is neither none nor basic
    actions: tuple[Action, ...]
    key: tuple[tuple[str, str, int], ...]

    @property
    def total(self) -> int:
        """Work time with preparations."""
        return self.time + sum(time for _, time in self.prepare)


@dataclass(frozen=True, slots=True)
class Event:
    """An event: `needs` are releases (and only those) that must be done, `forbids` moves that must not be."""

    kind: str  # "lift", "swing" or "release"
    id: str
    needs: int
    forbids: int
    ways: tuple[Way, ...]


@dataclass(frozen=True, slots=True)
class Problem:
    """All events; bit `i` of a mask stands for `events[i]`, moves first. `target` maps a part to its lift."""

    events: tuple[Event, ...]
    moves: int
    target: dict[str, int]
    unit: Fraction  # seconds in one unit of time
    change: int
    turn: int
    tools: tuple[str, ...] = field(default=())
    sides: dict[str, int] = field(default_factory=dict, compare=False)

    def seconds(self, time: int) -> Fraction:
        """Give a time of the search in seconds."""
        return time * self.unit


def prepare_steps(way: Way) -> int:
    """Steps of a way's preparations: a run each, however many tools it takes."""
    return sum(tools.bit_count() or 1 for tools, _ in way.prepare)


_ZERO = Fraction(0)

#: an event that may not happen: ("release", joint, way) or ("lift" or "swing", id, None)
Barred = tuple[str, str, int | None]


def compile_problem(record: Record, unknown: Unknown | None = None, barred: frozenset[Barred] = frozenset()) -> Problem:
    """Compile a folded record; the covers in `unknown` count as real, the `barred` ways and moves as impossible."""
    return _Compiler(record, unknown or Unknown({}, {}, {}), barred).problem()


def with_unknown(problem: Problem, record: Record, unknown: Unknown) -> Problem:
    """Compile the same record again with the covers in `unknown` as real; `problem` has none and nothing barred."""
    compiler = _Compiler(record, unknown, frozenset(), problem)
    touched = {"release": {name for name, _ in unknown.ways}, "lift": {*unknown.parts, *unknown.bundles}}
    events = list(problem.events)
    for number, event in enumerate(events):
        if event.id in touched.get(event.kind, ()):
            if event.kind == "release":
                events[number] = compiler._release(event.id, record.joints[event.id])
            else:
                events[number] = compiler._move(*compiler.moves[number])
    return replace(problem, events=tuple(events))


class _Compiler:
    """Holds the numbering while a record is compiled."""

    def __init__(
        self, record: Record, unknown: Unknown, barred: frozenset[Barred], like: Problem | None = None
    ) -> None:
        self.record = record
        self.barred = barred
        self.unknown = unknown
        lifts = [name for name, part in record.parts.items() if not part.stays]
        moves = [*(("part", p) for p in lifts), *(("bundle", b) for b in record.bundles)]
        self.moves = [*moves, *(("swing", s) for s in record.swings)]
        self.move_bit = {move: 1 << i for i, move in enumerate(self.moves)}
        self.joint_bit = {name: 1 << (len(self.moves) + i) for i, name in enumerate(record.joints)}
        self.tool_bit = {name: 1 << i for i, name in enumerate(record.tools)}
        self.sides: dict[str, int] = {"any": 0} if like is None else dict(like.sides)
        self.members = {name: frozenset(bundle.parts) for name, bundle in record.bundles.items()}
        self.swings_of: dict[str, list[str]] = {}
        for name, swing in record.swings.items():
            self.swings_of.setdefault(swing.part, []).append(name)
        self.holding: dict[str, list[str]] = {}
        for name, joint in record.joints.items():
            for part in set(joint.holds):
                self.holding.setdefault(part, []).append(name)
        if like is None:
            self.scale = lcm(*{seconds.denominator for seconds in self._all_seconds()})
        else:
            self.scale = like.unit.denominator

    def problem(self) -> Problem:
        setup = self.record.setup
        events = [self._move(kind, name) for kind, name in self.moves]
        events += [self._release(name, joint) for name, joint in self.record.joints.items()]
        target = {name: i for i, (kind, name) in enumerate(self.moves) if kind == "part"}
        change, turn = (int(Fraction(q.si) * self.scale) for q in (setup.tool_change, setup.turn_over))
        return Problem(
            tuple(events),
            len(self.moves),
            target,
            Fraction(1, self.scale),
            change,
            turn,
            tuple(self.record.tools),
            self.sides,
        )

    def _all_seconds(self) -> Iterable[Fraction]:
        yield Fraction(self.record.setup.tool_change.si)
        yield Fraction(self.record.setup.turn_over.si)
        for part in self.record.parts.values():
            yield _seconds(lift_of(part))
        yield from (_seconds(bundle.lift) for bundle in self.record.bundles.values())
        yield from (_seconds(swing.lift) for swing in self.record.swings.values())
        for joint in self.record.joints.values():
            for way in joint.ways:
                yield _seconds(way)
                yield from (_seconds(preparation) for preparation in way.prepare)

    # moves -----------------------------------------------------------------------------------------------------

    def _move(self, kind: str, name: str) -> Event:
        if kind == "part":
            lift, unknown = lift_of(self.record.parts[name]), self.unknown.parts.get(name, ())
            needs, forbids = self._joints(self.holding.get(name, ())), 0
            own = frozenset((name,))
        elif kind == "bundle":
            own = self.members[name]
            lift, unknown = self.record.bundles[name].lift, self.unknown.bundles.get(name, ())
            needs, forbids = self._joints(self._straddling(own)), self._bundle_forbids(name)
        else:
            swing = self.record.swings[name]
            own, lift, unknown = frozenset((swing.part,)), swing.lift, ()
            held = [joint for joint in self.holding.get(swing.part, ()) if joint not in swing.keeps]
            needs, forbids = self._joints(held), self._leaving(swing.part)
        covers = [*lift.behind, *((part,) for part in unknown)]
        clauses = _minimal(self._clause(cover, own, name if kind != "swing" else "", 0) for cover in covers)
        way = self._way_of_move(kind, name, lift, clauses)
        do = "swing" if kind == "swing" else "lift"
        return Event(do, name, needs, forbids, () if (do, name, None) in self.barred else (way,))

    def _way_of_move(self, kind: str, name: str, lift: Lift, clauses: tuple[int, ...]) -> Way:
        do = "swing" if kind == "swing" else "lift"
        action = Action(do=do, tools=lift.tools, side=lift.side, work=_seconds(lift), **{kind: name})  # type: ignore[arg-type]
        return Way(
            None,
            self._tools(lift.tools),
            self._side(lift.side),
            int(_seconds(lift) * self.scale),
            (),
            clauses,
            0,
            (action,),
            ((do, name, -1),),
        )

    def _straddling(self, own: frozenset[str]) -> list[str]:
        near = {name for part in own for name in self.holding.get(part, ())}
        return [name for name in near if not own.issuperset(self.record.joints[name].holds)]

    def _bundle_forbids(self, name: str) -> int:
        """Moves after which the bundle's parts are no longer in one piece that is the product or a larger bundle."""
        own = self.members[name]
        mask = 0
        for part in own:
            mask |= self.move_bit.get(("part", part), 0)
        for other, parts in self.members.items():
            if other != name and own & parts and not own < parts:
                mask |= self.move_bit["bundle", other]
        return mask

    def _leaving(self, part: str) -> int:
        """Moves after which the part is no longer in the product."""
        mask = self.move_bit.get(("part", part), 0)
        for name, parts in self.members.items():
            if part in parts:
                mask |= self.move_bit["bundle", name]
        return mask

    # releases --------------------------------------------------------------------------------------------------

    def _release(self, name: str, joint: RecordJoint) -> Event:
        ways = [
            self._way_of_joint(name, joint, number, way)
            for number, way in enumerate(joint.ways)
            if ("release", name, number) not in self.barred
        ]
        return Event("release", name, 0, 0, tuple(_undominated(ways)))

    def _way_of_joint(self, name: str, joint: RecordJoint, number: int, way: RecordWay) -> Way:
        seconds = _seconds(way)
        if way.time is not None and way.time.each:
            seconds *= joint.count
        covers = [*way.under, *((part,) for part in self.unknown.ways.get((name, number), ()))]
        held = frozenset(joint.holds)
        clauses = _minimal(self._clause(cover, held, name, self.joint_bit[name]) for cover in covers)
        actions = [
            Action("prepare", joint=name, way=number, what=p.do, tools=p.tools, side=way.side, work=_seconds(p))
            for p in way.prepare
        ]
        actions.append(Action("release", joint=name, way=number, tools=way.tools, side=way.side, work=seconds))
        classes = {self.record.tools[tool].tool_class for tool in way.tools}
        return Way(
            number,
            self._tools(way.tools),
            self._side(way.side),
            int(seconds * self.scale),
            tuple((self._tools(p.tools), int(_seconds(p) * self.scale)) for p in way.prepare),
            clauses,
            int(bool(classes - {"basic"})),
            tuple(actions),
            tuple((action.do, name, number) for action in actions),
        )

    # covers ----------------------------------------------------------------------------------------------------

    def _clause(self, cover: tuple[str, ...], own: frozenset[str], what: str, joint: int) -> int:
        mask = 0
        for part in cover:
            mask |= self._clearing(part, own, what, joint)
        return mask

    def _clearing(self, cover: str, own: frozenset[str], what: str, joint: int) -> int:
        """Moves that clear `cover` for something in the piece of `own`; moves that need `joint` first are left out."""
        mask = 0
        if cover not in own:
            mask |= self.move_bit.get(("part", cover), 0)
        for name, parts in self.members.items():
            inside = own <= parts
            if (inside or not own & parts) and inside != (cover in parts):
                mask |= self.move_bit["bundle", name]
        for name in self.swings_of.get(cover, ()):
            swing = self.record.swings[name]
            needs_joint = joint and cover in own and not any(self.joint_bit[keep] == joint for keep in swing.keeps)
            if (not what or what not in swing.still_covers) and not needs_joint:
                mask |= self.move_bit["swing", name]
        return mask

    def _joints(self, names: Iterable[str]) -> int:
        return sum(self.joint_bit[name] for name in names)

    def _tools(self, names: Sequence[str]) -> int:
        return sum(self.tool_bit[name] for name in set(names))

    def _side(self, name: str) -> int:
        return self.sides.setdefault(name, len(self.sides))


def _seconds(model: Noun) -> Fraction:
    time = getattr(model, "time", None)
    return _ZERO if time is None else _exact(time.si)


@lru_cache(maxsize=4096)
def _exact(seconds: Decimal) -> Fraction:
    return Fraction(seconds)


def _minimal(clauses: Iterable[int]) -> tuple[int, ...]:
    """Drop clauses that another clause implies."""
    kept: list[int] = []
    for clause in sorted(set(clauses), key=lambda c: (c.bit_count(), c)):
        if not any(other & clause == other for other in kept if other):
            kept.append(clause)
    return tuple(kept)


def _undominated(ways: list[Way]) -> list[Way]:
    """Drop ways that another way beats in every respect (ties go to the lower number)."""
    return [way for way in ways if not any(_beats(other, way) for other in ways if other is not way)]


def _beats(one: Way, two: Way) -> bool:
    same_setup = one.tools == two.tools and one.side in (0, two.side)
    same_prepare = one.prepare == two.prepare or not one.prepare
    cheaper = one.time <= two.time and one.special <= two.special
    needs_no_more = all(any(other & clause == other for other in two.clauses) for clause in one.clauses)
    if not (same_setup and same_prepare and cheaper and needs_no_more):
        return False
    strictly = one.time < two.time or one.special < two.special
    return strictly or (one.number or 0) < (two.number or 0)
