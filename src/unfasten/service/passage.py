"""Whether a part can be taken out under a limit on joints, tools, heat and solvents, whatever the truth about covers.

A limit bars ways and lifts. What is not known (whether a joint can be used again, the class of a tool, a cover) is
taken at its best and at its worst: a part that comes out at the worst comes out for certain.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from typing import Final

from unfasten.record.fold import fold_log, lift_of
from unfasten.record.joint import Way
from unfasten.record.record import Record
from unfasten.routes.necessity import bits, necessary, reachable, relevant
from unfasten.routes.problem import Barred, Problem, compile_problem
from unfasten.routes.unknown import Unknown, unknown_covers
from unfasten.rules.case import Allowed, Passage
from unfasten.rules.verdict import Look
from unfasten.service.report_words import TOOL_CLASSES, joint_name, tool_name

HEATS: Final = ("heater", "soldering-iron")
SOLVENTS: Final = ("solvent",)
ANY_TOOL: Final = frozenset(("basic", "with-part", "with-product", "commercial", "proprietary"))
FREE: Final = Allowed(ANY_TOOL)
#: most questions and faults that are told
MOST: Final = 12


@dataclass(frozen=True, slots=True)
class _Limits:
    """What a limit bars: for certain, and in the worst case; and what is not known of each."""

    sure: dict[Barred, str]
    maybe: dict[Barred, Look]

    def at_best(self) -> frozenset[Barred]:
        return frozenset(self.sure)

    def at_worst(self) -> frozenset[Barred]:
        return frozenset(self.sure) | frozenset(self.maybe)


@dataclass
class Passages:
    """Answers for one record; problems are compiled once for each limit."""

    record: Record
    _limits: dict[Allowed, _Limits] = field(default_factory=dict)
    _compiled: dict[tuple[frozenset[Barred], bool], tuple[Problem, list[int]]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.record = fold_log(self.record)
        self.unknown: Unknown = unknown_covers(self.record)

    def __call__(self, part: str, allowed: Allowed) -> Passage:
        """Tell whether the part can be taken out under the limit."""
        if allowed not in self._limits:
            self._limits[allowed] = _Limiter(self.record, allowed).limits()
        limits = self._limits[allowed]
        if part not in self._world(limits.at_best(), False)[0].target:
            return _open("it is the part that stays: how is it replaced?", part, self.record.parts[part].name)
        if not self._reaches(part, frozenset(), False):
            return _open("the record shows no way out: how does it come out?", part, self.record.parts[part].name)
        if self._reaches(part, limits.at_worst(), True):
            return Passage(True, True)
        if not self._reaches(part, limits.at_best(), False):
            return Passage(False, False, faults=tuple(self._faults(part, limits)))
        return Passage(False, True, look=tuple(self._looks(part, limits)))

    def _world(self, barred: frozenset[Barred], all_real: bool) -> tuple[Problem, list[int]]:
        key = barred, all_real
        if key not in self._compiled:
            problem = compile_problem(self.record, self.unknown if all_real else None, barred)
            self._compiled[key] = problem, necessary(problem)
        return self._compiled[key]

    def _reaches(self, part: str, barred: frozenset[Barred], all_real: bool) -> bool:
        problem, table = self._world(barred, all_real)
        target = problem.target[part]
        return reachable(problem, table, (target,), relevant(problem, table, target))

    def _faults(self, part: str, limits: _Limits) -> Iterator[str]:
        """Joints and lifts that every way out needs and that are barred; where none is, all that are barred near it."""
        problem, table = self._world(frozenset(), False)
        target = problem.target[part]
        needed = [problem.events[i] for i in bits(table[target])]
        near = [problem.events[i] for i in bits(relevant(problem, table, target))]
        for events in (needed, near):
            told = dict.fromkeys(why for e in events for b, why in limits.sure.items() if b[:2] == (e.kind, e.id))
            if told:
                yield from _cut(list(told))
                return

    def _looks(self, part: str, limits: _Limits) -> Iterator[Look]:
        """What is not known of the joints, tools and covers that can matter to the part."""
        near: set[tuple[str, str]] = set()
        for all_real in (False, True):
            problem, table = self._world(limits.at_best(), all_real)
            events = [problem.events[i] for i in bits(relevant(problem, table, problem.target[part]))]
            near |= {(event.kind, event.id) for event in events}
        yield from dict.fromkeys(look for barred, look in limits.maybe.items() if barred[:2] in near)
        if not (self._reaches(part, limits.at_best(), True) and self._reaches(part, limits.at_worst(), False)):
            yield from self._covers(near)

    def _covers(self, near: set[tuple[str, str]]) -> Iterator[Look]:
        for (joint, number), parts in self.unknown.ways.items():
            if ("release", joint) in near:
                yield Look(
                    f"does {self._any(parts)} cover {joint_name(self.record, joint)}?", f"joints.{joint}.ways[{number}]"
                )
        for kind, table in (("part", self.unknown.parts), ("bundle", self.unknown.bundles)):
            for name, parts in table.items():
                if ("lift", name) in near:
                    known = self.record.parts.get(name) if kind == "part" else self.record.bundles.get(name)
                    called = (known.name if known else None) or name
                    yield Look(f"does {self._any(parts)} cover {called}?", f"{kind}s.{name}.lift")

    def _any(self, ids: Iterable[str]) -> str:
        names = [self.record.parts[name].name for name in ids]
        return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} or {names[-1]}"


class _Limiter:
    """Finds what a limit bars."""

    def __init__(self, record: Record, allowed: Allowed) -> None:
        self.record, self.allowed = record, allowed
        self.sure: dict[Barred, str] = {}
        self.maybe: dict[Barred, Look] = {}

    def limits(self) -> _Limits:
        for name, joint in self.record.joints.items():
            called = joint_name(self.record, name)
            for number, way in enumerate(joint.ways):
                self._joint(("release", name, number), called, joint.reuse)
                self._tools(("release", name, number), called, (*way.tools, *_prepared(way)))
                self._preparations(("release", name, number), called, way)
        for name, part in self.record.parts.items():
            self._lift(("lift", name, None), part.name, (name,), lift_of(part).tools)
        for name, bundle in self.record.bundles.items():
            self._lift(("lift", name, None), bundle.name or name, bundle.parts, bundle.lift.tools)
        for name, swing in self.record.swings.items():
            self._tools(("swing", name, None), swing.part, swing.lift.tools)
        return _Limits(self.sure, {event: look for event, look in self.maybe.items() if event not in self.sure})

    def _joint(self, event: Barred, name: str, reuse: str | None) -> None:
        if self.allowed.reuse is None:
            return
        if reuse is None:
            self.maybe[event] = Look("what becomes of it when it is undone?", f"joints.{event[1]}.reuse", name)
        elif reuse not in self.allowed.reuse:
            what = "cannot be undone without damage" if reuse == "none" else f"is only {reuse}"
            self.sure[event] = f"{name} {what}"

    def _lift(self, event: Barred, name: str, parts: Iterable[str], tools: tuple[str, ...]) -> None:
        if self.allowed.without.intersection(parts):
            self.sure[event] = f"{name} must stay"
        self._tools(event, name, tools)

    def _tools(self, event: Barred, name: str, tools: Iterable[str]) -> None:
        for tool in tools:
            known, called = self.record.tools[tool], tool_name(self.record, tool)
            if known.tool_class is None and not self.allowed.tools >= ANY_TOOL:
                self.maybe[event] = Look("of which class is this tool?", f"tools.{tool}.class", called)
            elif known.tool_class in self.allowed.doubtful:
                ask = "can anyone buy this tool, or does it come free with the product?"
                self.maybe[event] = Look(ask, f"tools.{tool}.class", called)
            elif known.tool_class is not None and known.tool_class not in self.allowed.tools:
                self.sure[event] = f"{name} needs {called}, a {TOOL_CLASSES[known.tool_class]} tool"
            self._kind(event, name, called, known.kind)

    def _kind(self, event: Barred, name: str, tool: str, kind: str | None) -> None:
        if not self.allowed.heat and kind in HEATS:
            self.sure[event] = f"{name} needs heat ({tool})"
        if not self.allowed.solvent and kind in SOLVENTS:
            self.sure[event] = f"{name} needs a solvent ({tool})"

    def _preparations(self, event: Barred, name: str, way: Way) -> None:
        for preparation in way.prepare:
            if preparation.do == "heat" and not self.allowed.heat:
                self.sure[event] = f"{name} needs heat"
            kinds = [self.record.tools[tool].kind for tool in preparation.tools]
            if preparation.do == "clean" and not self.allowed.solvent and (not kinds or None in kinds):
                number = event[2]
                look = Look("is it cleaned with a solvent?", f"joints.{event[1]}.ways[{number}].prepare", name)
                self.maybe[event] = look


def _open(what: str, part: str, called: str) -> Passage:
    return Passage(False, True, look=(Look(what, f"parts.{part}", called),))


def _prepared(way: Way) -> list[str]:
    return [tool for preparation in way.prepare for tool in preparation.tools]


def _cut(told: list[str]) -> list[str]:
    return told if len(told) <= MOST else [*told[:MOST], f"and {len(told) - MOST} more"]
