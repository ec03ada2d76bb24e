"""What changes are measured by: the index of a rule set, or the steps to one part; exactly, and at most.

The index ranks by how much its low end rises, then its high end: what is certain counts before what is possible. A part
ranks by the steps of its high route, then of its low route, then by the times of the two. Bigger keys are better.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence, Set
from dataclasses import replace
from datetime import date
from fractions import Fraction
from typing import Protocol

from unfasten.evidence.errors import CallError
from unfasten.evidence.interval import Interval, lowest
from unfasten.evidence.parameter import Law
from unfasten.record.joint import Joint
from unfasten.routes.pairing import additions
from unfasten.routes.result import Reach, Route
from unfasten.rules.engine import Verdict, judge
from unfasten.rules.facts import Piece, Undoing, Way
from unfasten.rules.library import edition
from unfasten.rules.node import Node
from unfasten.rules.readings import choose
from unfasten.rules.scoring import scale
from unfasten.service.assess import product_of
from unfasten.service.trial import Releases, Stand, Trial, lifted

Key = tuple[Fraction | float, ...]
#: a score and a role in it
Cell = tuple[str, str]
Points = tuple[Fraction, Fraction]


class Gauge(Protocol):
    """Gives a key of a trial: exact, or one that the exact key cannot exceed."""

    zero: Key

    def exact(self, trial: Trial) -> Key:
        """The key of a trial with every route settled."""

    def ceiling(self, trial: Trial) -> Key:
        """A key that the exact one cannot exceed, from what is settled so far.

        Before the trial is prepared it holds only for changes that do nothing but move routes.
        """

    def weight(self, name: str) -> Fraction:
        """How much hangs on a target; the heaviest is settled first."""


class PartGauge:
    """Measures by the steps to one part."""

    def __init__(self, stand: Stand, part: str) -> None:
        self.part = part
        self.zero: Key = _part_key(stand.reaches[part])

    def exact(self, trial: Trial) -> Key:
        """Steps and times of both routes, less being better."""
        return _part_key(trial.reaches()[self.part])

    def ceiling(self, trial: Trial) -> Key:
        """By the least steps that are not excluded, and the least times with so many."""
        if self.part not in trial.least:
            return _part_key(trial.reaches()[self.part]) if trial.prepared else self.zero
        low, high = trial.least[self.part]
        more = additions(trial.changed_record, (self.part,))
        first, last = trial.quickest.get(self.part, (Fraction(0), Fraction(0)))
        return -(high + more.high), -(low + more.low), -last, -first

    def weight(self, name: str) -> Fraction:
        """One part, one weight."""
        return Fraction(1)


def _part_key(reach: Reach) -> Key:
    steps = [-math.inf if steps is None else -steps for steps in (reach.steps_high, reach.steps_low)]
    times = [-math.inf if route is None else -route.time for route in (reach.high, reach.low)]
    return (*steps, *times)


class IndexGauge:
    """Measures by the index of a rule set on a day, under its default readings."""

    def __init__(self, stand: Stand, on: date, ruleset: str) -> None:
        self.edition = edition(ruleset)
        self.stand = stand
        self.on = on
        category = stand.record.product.category
        reason = self.edition.why_not(category, on)
        if reason is not None:
            raise CallError("whatif.no-index", "--for", f"there is no index to raise: {reason}", "name a part")
        self.readings = choose(self.edition.readings, {})
        self.law = Law(self.edition.parameters, on)
        self.product = product_of(stand.record, stand.reaches)
        self.verdict: Verdict = judge(self.edition, self.product, on, self.readings)
        self.before = points(self.verdict)
        self.zero: Key = (Fraction(0), Fraction(0))
        self._minis: dict[tuple[object, ...], dict[str, Interval]] = {}
        self._plain: dict[tuple[str, int | None], Undoing] = {}
        self._offers: dict[tuple[str, ...], Points] = {}
        self._lifted = {name: self._lifts(name) for name in stand.targets}
        self._levels = self.law("tools.points").table
        self._role_of = {name: str(stand.record.parts[name].role) for name in stand.targets}
        self._parts_of: dict[str, list[str]] = {}
        for name, of in self._role_of.items():
            self._parts_of.setdefault(of, []).append(name)
        self._nodes: dict[str, list[tuple[str, Node, Fraction]]] = {}
        self._weights: dict[str, Fraction] = {}
        for score in self.verdict.index.children:
            for role in score.children:
                if role.weight is not None and role.children:
                    share = (score.weight or Fraction(0)) * role.weight
                    self._nodes.setdefault(role.title, []).append((score.id, role, share))
                    self._weights |= {child.title: share for child in role.children}
        self._by_role = {score for nodes in self._nodes.values() for score, _, _ in nodes}

    def exact(self, trial: Trial) -> Key:
        """By how much the low, and the high, end of the index rises."""
        if all(change.edit.path[0] == "supply" for change in trial.changes):
            return self._offered(trial)
        after = points(self.verdict_of(trial))
        return after.low - self.before.low, after.high - self.before.high

    def verdict_of(self, trial: Trial) -> Verdict:
        """The verdict after the changes."""
        product = product_of(trial.record, trial.reaches())
        return self.verdict if product == self.product else judge(self.edition, product, self.on, self.readings)

    def ceiling(self, trial: Trial) -> Key:
        """As if each part whose route may move, or starts from one whose route may, had only what every route needs.

        Its steps are those found, else the least that are not excluded; its joints those found, else those that every
        route releases, without the ones that another part's route may take over. The points of depth fall with the
        steps, and those of fasteners and tools with each joint and tool more that counts.
        """
        scored = any(change.moves_points and change.edit.path[0] != "supply" for change in trial.changes)
        moved = {name for name in self.stand.targets if scored or trial.moved(name)}
        unsure = moved | {name for name, others in self._lifted.items() if others & moved}
        low, high = self._offered(trial)
        self._note(trial, [name for name in self.stand.targets if name in unsure and name not in trial.notes])
        for role in {self._role_of[name] for name in unsure}:
            rise = self._rise(role, trial, unsure)
            low += rise[0]
            high += rise[1]
        return low, high

    def _rise(self, role: str, trial: Trial, unsure: Set[str]) -> Points:
        """By how much the index rises at most through a role."""
        names = self._parts_of[role]
        if len(names) == 1 and (known := trial.notes[names[0]][1]) is not None:
            return known
        low = high = Fraction(0)
        for score, node, share in self._nodes.get(role, ()):
            if node.interval is not None:
                pieces = [
                    trial.notes[child.title][0][score] if child.title in unsure else child.interval
                    for child in node.children
                ]
                found = [piece for piece in pieces if piece is not None]
                rise = found[0] if len(found) == 1 else lowest(found)
                low += share * (rise.low - node.interval.low)
                high += share * (rise.high - node.interval.high)
        if len(names) == 1:
            trial.notes[names[0]] = trial.notes[names[0]][0], (low, high)
        return low, high

    def weight(self, name: str) -> Fraction:
        """Share of a part in the index."""
        return self._weights.get(name, Fraction(0))

    def room(self, name: str) -> tuple[Fraction, Fraction]:
        """By how much the index can rise at most through a role, or through an offer (`supply.…`): low and high."""
        low = high = Fraction(0)
        for score in self.verdict.index.children:
            share = score.weight or Fraction(0)
            nodes = [role for role in score.children if role.weight is not None] or [score]
            for node in nodes:
                wanted = node.title == name if node is not score else self.offer_of(score.id) == name
                if wanted and node.interval is not None:
                    part = share if node is score else share * (node.weight or Fraction(0))
                    top = scale(self.law).high
                    low += part * (top - node.interval.low)
                    high += part * (top - node.interval.high)
        return low, high

    def offer_of(self, score: str) -> str:
        """The part of the supply that a score without roles reads, such as `supply.updates`: where its facts stand."""
        node = self.verdict.scores[score]
        places = [fact.at for fact in node.facts] + [remark.at for remark in node.remarks]
        return next((".".join(place.split(".")[:2]) for place in places if place.startswith("supply.")), "supply")

    def _offered(self, trial: Trial) -> Points:
        """What the index gains by the changes of supply in a trial, exactly: other changes have no part in it."""
        key = tuple(change.text for change in trial.changes if change.edit.path[0] == "supply")
        if key and key not in self._offers:
            facts = replace(self.product, supply=trial.changed_record.supply)
            low = high = Fraction(0)
            for criterion in self.edition.criteria:
                old = self.verdict.scores[criterion.id]
                share = next(score.weight or 0 for score in self.verdict.index.children if score.id == criterion.id)
                if all(role.weight is None for role in old.children):
                    new = criterion(facts, self.law, self.readings)
                    if new.interval is not None and old.interval is not None:
                        low += share * (new.interval.low - old.interval.low)
                        high += share * (new.interval.high - old.interval.high)
            self._offers[key] = (low, high)
        return self._offers.get(key, (Fraction(0), Fraction(0)))

    def _note(self, trial: Trial, names: Sequence[str]) -> None:
        """Note the points of some parts at most, by score."""
        tools = _of_tools(trial)
        keys, missing = dict[str, tuple[object, ...]](), dict[tuple[object, ...], Piece]()
        for name in names:
            role = str(self.stand.record.parts[name].role)
            low, high = self._ways(name, trial)
            keys[name] = (role, low, high, *tools)
            if keys[name] not in self._minis and keys[name] not in missing:
                missing[keys[name]] = Piece(name, role, low, high)
        if missing:
            found = self._points(tuple(missing.values()), trial)
            self._minis |= {key: found[piece.id] for key, piece in missing.items()}
        for name, key in keys.items():
            trial.notes[name] = self._minis[key], None

    def _ways(self, name: str, trial: Trial) -> tuple[Way | None, Way | None]:
        """The low and the high route as short as they may be, with the joints alone that count on any."""
        more = self.stand.reaches[name].additions
        if any(change.edit.path[-1] == "pairing" for change in trial.changes):
            more = additions(trial.changed_record, (name,))
        low, high = (self._undoings(trial, releases) for releases in trial.releases(name))
        if name in trial.least:
            fewest, most = trial.least[name]
            return _at_least(fewest + more.low, low), _at_least(most + more.high, high)
        routes = trial.routes[name]
        return _way(routes[0], more.low, low), None if routes[0] is None else _way(routes[1], more.high, high)

    def _undoings(self, trial: Trial, releases: Releases) -> tuple[Undoing, ...]:
        return tuple(self._undoing(trial, *one) for one in sorted(releases, key=lambda one: (one[0], one[1] or 0)))

    def _undoing(self, trial: Trial, name: str, number: int | None) -> Undoing:
        """A release that counts; where it is not sure by which way, by the one whose worst tool is best."""
        joint = trial.changed_record.joints[name]
        if name in trial.touched_joints or joint is not self.stand.record.joints[name] or _of_tools(trial):
            return self._made(trial, joint, name, number)
        if (name, number) not in self._plain:
            self._plain[name, number] = self._made(trial, joint, name, number)
        return self._plain[name, number]

    def _made(self, trial: Trial, joint: Joint, name: str, number: int | None) -> Undoing:
        if number is None:
            number = None if name in trial.touched_joints and not trial.prepared else self._best_way(joint, trial)
        if number is None:
            return Undoing(name, reuse=joint.reuse)
        way = joint.ways[number]
        prepared = tuple(dict.fromkeys(tool for preparation in way.prepare for tool in preparation.tools))
        return Undoing(name, number, joint.reuse, way.tools, prepared)

    def _best_way(self, joint: Joint, trial: Trial) -> int | None:
        """The way that gives the most points for tools; None where that hangs on a class that is not known."""
        ranks = []
        for number, way in enumerate(joint.ways):
            tools = {*way.tools, *(tool for preparation in way.prepare for tool in preparation.tools)}
            classes = {trial.changed_record.tools[tool].tool_class for tool in tools}
            if None in classes and len(joint.ways) > 1:
                return None
            levels = (self._levels.get(str(one), Fraction(-1)) for one in classes)
            ranks.append((-min(levels, default=Fraction(10**6)), number))
        return min(ranks)[1]

    def _points(self, pieces: tuple[Piece, ...], trial: Trial) -> Mapping[str, dict[str, Interval]]:
        """Points of parts with these routes, by part and score."""
        tools = {name: tool.tool_class for name, tool in trial.changed_record.tools.items()}
        facts = replace(self.product, pieces=pieces, tools=tools)
        found: dict[str, dict[str, Interval]] = {piece.id: {} for piece in pieces}
        for criterion in self.edition.criteria:
            if criterion.id in self._by_role:
                for role in criterion(facts, self.law, self.readings).children:
                    for child in role.children:
                        found[child.title][criterion.id] = child.interval or self.before
        return found

    def _lifts(self, name: str) -> frozenset[str]:
        """Other targets that the present routes to a part lift."""
        found = (lifted(self.stand.record, route) for route in self.stand.routes[name])
        return frozenset[str]().union(*found) & frozenset(self.stand.targets) - {name}


def _of_tools(trial: Trial) -> tuple[str, ...]:
    """The changes of tools in a trial."""
    return tuple(change.text for change in trial.changes if change.edit.path[0] == "tools")


def _way(route: Route | None, more: int, undoings: tuple[Undoing, ...]) -> Way | None:
    if route is None:
        return None
    bound = route.steps if route.proven else math.ceil(route.bound)
    return _at_least(bound + more, undoings)


def _at_least(steps: int, undoings: tuple[Undoing, ...]) -> Way:
    return Way(steps, steps, undoings)


def points(verdict: Verdict) -> Interval:
    """The index of a verdict; the default readings never withhold it."""
    if verdict.index.interval is None:
        raise ValueError("the index is withheld")
    return verdict.index.interval


def cells(verdict: Verdict) -> Mapping[Cell, tuple[Fraction, Fraction]]:
    """What each role in each score, or a score without roles, brings to the index: low and high."""
    out: dict[Cell, tuple[Fraction, Fraction]] = {}
    for score in verdict.index.children:
        share = score.weight or Fraction(0)
        roles = [role for role in score.children if role.weight is not None]
        for node in roles or [score]:
            if node.interval is not None:
                part = share * (node.weight or Fraction(0)) if roles else share
                out[score.id, node.title if roles else ""] = (part * node.interval.low, part * node.interval.high)
    return out
