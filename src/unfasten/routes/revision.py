"""A world after a small change: only the events it touches are compiled anew, only routes it can move are searched.

`Original` holds a world with its routes; `Revision` is the same world with some events replaced. A revision may change
ways, tools, preparations and tool classes, add ways, and drop covers; parts, what joints hold, bundles and swings stay.
"""

from __future__ import annotations

import copy
from collections.abc import Iterable, Sequence
from dataclasses import replace
from fractions import Fraction
from typing import Literal

from unfasten.record.record import Record
from unfasten.routes.necessity import bits, necessary, relevant
from unfasten.routes.plans import Plans
from unfasten.routes.price import Pricer
from unfasten.routes.problem import Event, Problem, Way, _Compiler
from unfasten.routes.relaxed import Outlook
from unfasten.routes.result import By, Route
from unfasten.routes.sharing import Sharing
from unfasten.routes.unknown import Unknown
from unfasten.routes.world import World

#: what a change touches: a joint's release, or the lift of a part or bundle, or a swing
Touch = tuple[Literal["joint", "part", "bundle", "swing"], str]


class Original:
    """A world with the routes to some targets, from which revisions are made."""

    def __init__(self, world: World, targets: Sequence[str], sharing: Sharing) -> None:
        self.world = world
        self.sharing = sharing
        self.compiler = _Compiler(world.record, world.real or Unknown({}, {}, {}), frozenset())
        self.problem: Problem = self.compiler.problem()
        moves = [*self.compiler.moves, *(("joint", name) for name in world.record.joints)]
        self.index = {move: number for number, move in enumerate(moves)}
        possible = [0] * len(self.problem.events)
        self.closure = {t: relevant(self.problem, possible, self.problem.target[t]) for t in targets}
        self.within = 0
        for mask in self.closure.values():
            self.within |= mask
        self.numbers = sharing.numbers(world.problem)
        self.routes = {target: sharing.route(world, self.numbers, target) for target in targets}

    def touches(self, target: str, touched: Iterable[Touch]) -> bool:
        """Tell whether a change of these events can matter to a target."""
        return any(self.closure[target] >> self.index[touch] & 1 for touch in touched)

    def events(self, target: str | None = None) -> list[Touch]:
        """Every event that can matter to a target, or to any."""
        names = list(self.index)
        return [names[number] for number in bits(self.within if target is None else self.closure[target])]  # type: ignore[misc]


class Revision(World):
    """The original's world for a record in which only the touched events differ; `real` are its unknown covers."""

    def __init__(self, original: Original, record: Record, real: Unknown | None, touched: Iterable[Touch]) -> None:
        self.original = original
        self.record = record
        self.real = real
        self.by = original.world.by
        self.ordered = original.world.ordered
        self.units = original.world.units
        compiler = copy.copy(original.compiler)
        compiler.record, compiler.unknown = record, real or Unknown({}, {}, {})
        events = list(original.problem.events)
        self.moved: list[int] = []
        self.numbers: list[int] = []
        self._stays: dict[str, bool] = {}
        self._variants: dict[tuple[int, tuple[Way, ...]], tuple[Problem, dict[int, Outlook | None]]] = {}
        for kind, name in touched:
            number = original.index[kind, name]
            new = compiler._release(name, record.joints[name]) if kind == "joint" else compiler._move(kind, name)
            if new != events[number]:
                self.moved.append(number)
                events[number] = new
        self.problem, self.table = original.problem, original.world.table
        self.excerpts, self.closures, self.replayed = {}, {}, {}
        self.joints = original.world.joints
        self.pricers: dict[By, Pricer] = {}
        self.plans: dict[int, Outlook | None] = {}
        if self.moved:
            self.problem = replace(original.problem, events=tuple(events))
            self.table = necessary(self.problem, original.within)
            self.pricers = {self.by: Pricer(self.problem, self.by)}
            self.moved = [number for number in self.moved if not self._needless(number)]

    def concerned(self, target: str) -> list[int]:
        """Numbers of the changed events that can matter to a target of the original."""
        return [number for number in self.moved if self.original.closure[target] >> number & 1]

    def stays(self, target: str) -> bool:
        """Tell whether the best route must be the original's, without searching it."""
        if target not in self._stays:
            concerned, old = self.concerned(target), self.original.routes[target]
            cannot = old is not None and old.proven and self._cannot_move(target, old, concerned)
            self._stays[target] = not concerned or cannot
        return self._stays[target]

    def route_to(self, target: str) -> Route | None:
        """The best route to a target of the original; not searched where it must be the original's."""
        if self.stays(target):
            return self.original.routes[target]
        if not self.numbers:
            self.numbers = self.original.sharing.numbers(self.problem, (self.original.problem, self.original.numbers))
        return self.original.sharing.route(self, self.numbers, target)

    def least(self, target: str) -> tuple[int, Fraction]:
        """Lower bound of steps and then time [s] of any route to a target (0, 0 if there is none at all).

        A route has more steps than these, or as many and at least that time.
        """
        bound = self._least_with(target, self.problem.target[target])
        steps, rest = divmod(bound or 0, self.pricers[self.by].step)
        return steps, self.problem.seconds(rest // self.pricers[self.by].second)

    def sure_joints(self, target: str) -> frozenset[str]:
        """Joints that every route to a target releases."""
        mask = self.table[self.problem.target[target]]
        return frozenset(
            self.problem.events[n].id for n in bits(max(mask, 0)) if self.problem.events[n].kind == "release"
        )

    def _needless(self, number: int) -> bool:
        """Whether the event differs only in dropped clauses that what remains implies: the same sequences are legal.

        A dropped clause is implied if one of its members comes before the event in every sequence that is legal now.
        """
        before, after = self.original.problem.events[number], self.problem.events[number]
        if len(before.ways) != len(after.ways):
            return False
        return all(self._implied(after, old, new) for old, new in zip(before.ways, after.ways, strict=True))

    def _implied(self, event: Event, old: Way, new: Way) -> bool:
        if replace(old, clauses=new.clauses) != new or not set(new.clauses) <= set(old.clauses):
            return False
        known = 0
        for before in bits(event.needs):
            known |= self.table[before]
        for clause in new.clauses:
            common = -1
            for member in bits(clause & self.original.within):
                common &= self.table[member]
            known |= common
        return all(clause & known for clause in old.clauses)

    def _cannot_move(self, target: str, old: Route, concerned: list[int]) -> bool:
        """Whether the old route is still legal, and every sequence with a way that is new is dearer than it.

        Then the sequences without new ways are some of those of before, and among them the old route is still first.
        """
        done = [action for action in old.actions if action.do != "prepare"]
        used: dict[tuple[str, str], int | None] = {(a.do, a.id): a.way for a in done}
        pricer = self.pricers[self.by]
        price = old.steps * pricer.step + int(old.time / self.problem.unit) * pricer.second
        most = price + len(self.problem.events)  # at most every release needs a special tool
        for number in concerned:
            before, after = self.original.problem.events[number], self.problem.events[number]
            event = after.kind, after.id
            kept = [way for way in after.ways if way in before.ways]
            if event in used and all(way.number != used[event] for way in kept):
                return False
            if (before.needs, before.forbids) != (after.needs, after.forbids):
                return False
            fresh = tuple(way for way in after.ways if way not in kept)
            if any(_serves(new, way) for way in kept if way.number == used.get(event) for new in fresh):
                return False
            bound = self._least_by(target, number, fresh, most) if fresh else None
            if bound is not None and bound <= most:
                return False
        return True

    def _least_by(self, target: str, number: int, ways: tuple[Way, ...], enough: int) -> int | None:
        """Lower bound of the price of any sequence to the target that does the event by one of these of its ways.

        Perhaps not the best bound where a quick one is above `enough`; None if there is no such sequence.
        """
        if len(ways) == len(self.problem.events[number].ways):
            return self._least(self.problem, target, number, self.plans, enough)
        if (number, ways) not in self._variants:
            events = list(self.problem.events)
            events[number] = replace(events[number], ways=ways)
            problem = replace(self.problem, events=tuple(events))
            self._variants[number, ways] = problem, {}
        problem, known = self._variants[number, ways]
        return self._least(problem, target, number, known, enough)

    def _least_with(self, target: str, number: int) -> int | None:
        """Lower bound of the price of any sequence to the target that contains the event; None if none does."""
        return self._least(self.problem, target, number, self.plans)

    def _least(
        self,
        problem: Problem,
        target: str,
        number: int,
        known: dict[int, Outlook | None],
        enough: int | None = None,
    ) -> int | None:
        goal = problem.target[target]
        if self.table[goal] < 0 or self.table[number] < 0:
            return None
        goals = tuple(sorted({goal, number}))
        plans = Plans(problem, self.table, goals, self.pricers[self.by], known)
        quick = plans.peek()
        if enough is not None and quick is not None and quick > enough:
            return quick
        first = plans.pop()
        return None if first is None else first[0]


def _serves(new: Way, old: Way) -> bool:
    """Whether a way can take another's place in any sequence without making it dearer."""
    quick = not new.prepare and new.time <= old.total and new.special <= old.special
    return quick and new.tools in (0, old.tools) and new.side in (0, old.side) and set(new.clauses) <= set(old.clauses)
