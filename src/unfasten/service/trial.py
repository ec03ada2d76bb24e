"""Trying changes: the routes to some parts after a change, found step by step and no further than they are needed."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from unfasten.evidence.interval import Interval
from unfasten.record.change import changed
from unfasten.record.log import Lifted
from unfasten.record.record import Record
from unfasten.routes.necessity import bits
from unfasten.routes.pairing import additions
from unfasten.routes.result import Reach, Route
from unfasten.routes.revision import Original, Revision, Touch
from unfasten.routes.sharing import Sharing
from unfasten.routes.solve import Solver
from unfasten.routes.unknown import unknown_covers
from unfasten.routes.world import World
from unfasten.service.change import Change

Reaches = Mapping[str, Reach]
Pair = tuple[Route | None, Route | None]
#: steps of the low and the high route, or what they are at least
Steps = tuple[int, int]
#: joints that the low and the high route release at least
Joints = tuple[frozenset[str], frozenset[str]]
#: releases: joints, each with the number of its way, or None where any of its ways may be the one
Releases = frozenset[tuple[str, int | None]]
#: points of a part by score, and what its role brings to the index more than before: low and high
Note = tuple[Mapping[str, Interval], tuple[Fraction, Fraction] | None]
NOT_KNOWN: Final[Steps] = (0, 0)
_NO_TIME: Final = Fraction(0)


@dataclass(frozen=True, slots=True)
class Near:
    """What may stand on the way to each target: its `joints`, and the `others`, targets lifted alone or in a bundle.

    `shared` are the joints that may belong to the route of one of those others.
    """

    joints: Mapping[str, frozenset[str]]
    others: Mapping[str, frozenset[str]]
    shared: Mapping[str, frozenset[str]]


def near(record: Record, events: Mapping[str, Iterable[Touch]]) -> Near:
    """What may stand on the way to each target, by the events that can matter to it."""
    joints, others = {}, {}
    for name, touches in events.items():
        touched = list(touches)
        joints[name] = frozenset(joint for kind, joint in touched if kind == "joint")
        out = {other for kind, other in touched if kind == "part"}
        out |= {part for kind, bundle in touched if kind == "bundle" for part in record.bundles[bundle].parts}
        others[name] = frozenset(out & events.keys() - {name})
    shared = {name: frozenset[str]().union(*(joints[other] for other in others[name])) for name in events}
    return Near(joints, others, shared)


class Stand:
    """A settled record with the routes to its targets, in both worlds.

    Without `ordered` any of the best routes serves, where only its cost is asked for: that is quicker.
    """

    def __init__(self, record: Record, targets: Sequence[str], *, ordered: bool = True) -> None:
        self.record = record
        self.targets = tuple(targets)
        self.ordered = ordered
        self.solver = Solver(record, "steps", ordered=ordered)
        self.sharing = sharing = Sharing()
        self.low = Original(self.solver.low, targets, sharing)
        self.high = self.low if self.solver.high is self.solver.low else Original(self.solver.high, targets, sharing)
        self.quickest: dict[str, tuple[Fraction, Fraction]] = {}
        self.routes: dict[str, Pair] = {name: (self.low.routes[name], self.high.routes[name]) for name in targets}
        self.reaches: Reaches = {
            name: _reach(record, name, self.routes[name], self.solver.low, self.solver.high) for name in targets
        }
        self.near = near(record, {name: [*self.low.events(name), *self.high.events(name)] for name in targets})

    def events(self) -> list[Touch]:
        """Events that can matter to a target, whichever unknown covers are real."""
        return list(dict.fromkeys([*self.low.events(), *self.high.events()]))

    def concerned(self, changes: Sequence[Change]) -> list[str]:
        """Targets whose routes the changes may move."""
        touched = [touch for change in changes for touch in change.touched or ()]
        split = [change for change in changes if change.touched is None]
        return [
            name
            for name in self.targets
            if any(world.touches(name, touched) for world in (self.low, self.high))
            or any(_may_miss(self, name, str(change.edit.path[1])) for change in split)
        ]


class Trial:
    """Changes that are being tried: what is known of each route so far.

    `routes` are those found; for the other targets that may move, `least` bounds the steps from below, `quickest` the
    times [s] of routes with just so many steps, and `half` holds the high routes that were found already. `notes` is a
    gauge's own: what it made of a target when it last looked, forgotten as soon as more is known.
    """

    def __init__(self, stand: Stand, changes: Sequence[Change]) -> None:
        self.stand = stand
        self.changes = tuple(changes)
        self.open = stand.concerned(changes)
        self.touched_joints = {name for change in changes for kind, name in change.touched or () if kind == "joint"}
        self.least: dict[str, Steps] = dict.fromkeys(self.open, NOT_KNOWN)
        self.quickest: dict[str, tuple[Fraction, Fraction]] = {}
        self.routes: dict[str, Pair] = {name: pair for name, pair in stand.routes.items() if name not in self.least}
        holding = {
            name: frozenset(j for j, joint in stand.record.joints.items() if name in joint.holds) for name in self.open
        }
        self.sure: dict[str, Joints] = {name: (joints, joints) for name, joints in holding.items()}
        self.half: dict[str, Route] = {}
        self.loose: list[str] = []
        self.notes: dict[str, Note] = {}
        self.near = stand.near
        self._numbers: dict[World, list[int]] = {}
        self.prepared = False

    @property
    def changed_record(self) -> Record:
        """The record with the changes, or, until the trial is prepared, without."""
        return self.record if self.prepared else self.stand.record

    def prepare(self) -> None:
        """Make the changed record and its worlds."""
        self.record = changed(self.stand.record, [change.edit for change in self.changes])
        self.prepared = True
        self.notes.clear()
        stand = self.stand
        unknown = unknown_covers(self.record)
        whole = any(change.touched is None for change in self.changes)
        if whole or (unknown and stand.high is stand.low):  # the second does not come about by the catalogue
            solver = Solver(self.record, "steps", ordered=stand.ordered)
            self.low, self.high = solver.low, solver.high
            worlds = dict.fromkeys((solver.low, solver.high))
            self.near = near(self.record, {n: [t for w in worlds for t in _events(w, n)] for n in stand.targets})
            return
        touched = list(dict.fromkeys(touch for change in self.changes for touch in change.touched or ()))
        self.low = low = Revision(stand.low, self.record, None, touched)
        self.high = high = low
        if stand.high is not stand.low:
            self.high = high = Revision(stand.high, self.record, unknown, touched)
        for name in list(self.open):
            if low.concerned(name) or high.concerned(name):
                self.sure[name] = low.sure_joints(name), high.sure_joints(name)
            else:
                self._found(name, stand.routes[name])
        self.loose = list(self.open)

    def tighten(self, name: str) -> None:
        """Settle a route that needs no search, or bound its steps."""
        self.loose.remove(name)
        low, high = self.low, self.high
        if not isinstance(low, Revision) or not isinstance(high, Revision):
            return
        if low.stays(name) and high.stays(name):
            self._found(name, self.stand.routes[name])
            return
        most, time = high.least(name)
        self.least[name] = (most if high is low else 0), most
        self.quickest[name] = (time if high is low else _NO_TIME), time
        self._forget(name)

    def settle(self, name: str) -> None:
        """Find the high route to one target, or, where that is known, the low one."""
        if self.high is self.low:
            route = self._best(self.low, name)
            self._found(name, (route, route))
        elif name in self.half:
            self._found(name, (self._best(self.low, name), self.half.pop(name)))
        else:
            high = self._best(self.high, name)
            if high is None or not high.proven:
                self._found(name, (self._best(self.low, name), high))
                return
            self.half[name] = high
            fewest, time = self.low.least(name) if isinstance(self.low, Revision) else (0, _NO_TIME)
            self.least[name] = fewest, high.steps
            self.quickest[name] = time, high.time
            self._forget(name)

    def settle_all(self) -> None:
        """Find every route."""
        if not self.prepared:
            self.prepare()
        while self.open:
            self.settle(self.open[0])

    def reaches(self) -> Reaches:
        """The reach of every target; all must be settled."""
        return {name: _reach(self.record, name, self.routes[name], self.low, self.high) for name in self.stand.targets}

    def releases(self, name: str) -> tuple[Releases, Releases]:
        """What its low and its high route release at least, without what another target's route may release."""
        return self._releases(name, 0), self._releases(name, 1)

    def _releases(self, name: str, end: int) -> Releases:
        known, route = self._route(name, end)
        if not known:
            return frozenset((joint, None) for joint in self.sure[name][end] - self.near.shared[name])
        if route is None or not route.proven:  # another may be the shortest
            return frozenset()
        struck: set[str] = set()
        for other in lifted(self.changed_record, route) & self.near.others[name]:
            is_known, own = self._route(other, end)
            struck |= released(own) if is_known else self.near.joints[other]
        return frozenset((a.joint, a.way) for a in route.actions if a.do == "release" and a.joint not in struck)  # type: ignore[misc]

    def _route(self, name: str, end: int) -> tuple[bool, Route | None]:
        """Whether the low (0) or high (1) route is known, and which it is."""
        if name not in self.least:
            return True, self.routes[name][end]
        return end == 1 and name in self.half, self.half.get(name)

    def moved(self, name: str) -> bool:
        """Tell whether a target's routes are not, or not known to be, those of before."""
        return name in self.least or self.routes[name] != self.stand.routes[name]

    def _best(self, world: World, name: str) -> Route | None:
        if isinstance(world, Revision):
            return world.route_to(name)
        if world not in self._numbers:
            self._numbers[world] = self.stand.sharing.numbers(world.problem)
        return self.stand.sharing.route(world, self._numbers[world], name)

    def _found(self, name: str, pair: Pair) -> None:
        self.routes[name] = pair
        self.open.remove(name)
        del self.least[name]
        self._forget(name)

    def _forget(self, name: str) -> None:
        """Drop the notes that what is now known of a target may change."""
        for other in [other for other in self.notes if other == name or name in self.near.others[other]]:
            del self.notes[other]


def released(route: Route | None) -> frozenset[str]:
    """Joints that a route releases."""
    actions = () if route is None else route.actions
    return frozenset(action.joint for action in actions if action.joint is not None)


def lifted(record: Record, route: Route | None) -> frozenset[str]:
    """Parts that a route lifts, alone or in a bundle."""
    out = set[str]()
    for action in route.actions if route is not None else ():
        if action.do == "lift":
            out |= {action.part or ""} if action.bundle is None else set(record.bundles[action.bundle].parts)
    return frozenset(out)


def _events(world: World, name: str) -> Iterable[Touch]:
    """The events that can matter to a target in a world."""
    for number in bits(world.closure(name)):
        event = world.problem.events[number]
        if event.kind == "release":
            yield "joint", event.id
        elif event.kind == "swing":
            yield "swing", event.id
        else:
            yield ("part" if world.problem.target.get(event.id) == number else "bundle"), event.id


def _may_miss(stand: Stand, name: str, bundle: str) -> bool:
    """Whether splitting up a bundle may move a target's routes.

    Without the bundle there are only fewer sequences, so a route that does not lift it stays the first. But where the
    log lifted it, other unknown covers follow for its parts.
    """
    logged = any(isinstance(entry, Lifted) and entry.bundle == bundle for entry in stand.record.log)
    used = [action.bundle for route in stand.routes[name] if route is not None for action in route.actions]
    unsure = any(route is None or not route.proven for route in stand.routes[name])
    return logged or unsure or bundle in used


def _reach(record: Record, name: str, routes: Pair, world: World, worst: World) -> Reach:
    """The reach that `routes.solve` gives for these routes."""
    low, high = routes
    reason = None
    if low is None or high is None:
        reason = (world if low is None else worst).reason(name)
    return Reach(name, low, None if low is None else high, additions(record, (name,)), reason)
