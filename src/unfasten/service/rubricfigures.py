"""The figures that a rubric may ask for, computed from a record; each costly answer is made once."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import replace
from datetime import date
from fractions import Fraction
from functools import cached_property
from typing import get_args

from unfasten.battery.bay import fill_facts, gap, growth
from unfasten.battery.energy import energy_of
from unfasten.evidence.errors import DataError
from unfasten.evidence.fields import unknown_remedy
from unfasten.evidence.interval import Interval
from unfasten.evidence.quantity import Quantity
from unfasten.record.fold import fold_log
from unfasten.record.part import Battery, Part, Role
from unfasten.record.record import Record
from unfasten.routes.result import By, Reach, Route
from unfasten.routes.solve import solve
from unfasten.rules.assessment import Assessment
from unfasten.rules.library import edition
from unfasten.rules.node import Fact
from unfasten.rules.rubric import Mark, Value
from unfasten.rules.rubricread import BATTERY
from unfasten.rules.tested import COVERAGE, spread
from unfasten.rules.verdict import WORDS, Look, Word
from unfasten.service.assess import assess_record
from unfasten.service.report_words import joint_name
from unfasten.service.requirements import Decision, Label, label, requirements


class RubricFigures:
    """Figures of one record on a day; call it with a criterion."""

    def __init__(self, record: Record, on: date) -> None:
        self.record, self.on = record, on
        self._reaches: dict[tuple[str, By], Reach] = {}
        self._assessed: dict[str, Assessment] = {}
        self._decided: dict[str, Decision] = {}
        self._labels: dict[str, Label] = {}

    def __call__(self, mark: Mark) -> Value:
        """Give the figure of a criterion; raises `DataError` for a part that the record lacks and no role names."""
        figures: dict[str, Callable[[Mark], Value]] = {
            "steps": lambda m: self._of_part(m, "step", "steps", _steps),
            "time": lambda m: self._of_part(m, "s", "time", _time),
            "tools": lambda m: self._of_part(m, "tool", "steps", _count(lambda r: len(self._tools(r)))),
            "special-tools": lambda m: self._of_part(m, "tool", "steps", self._special),
            "heatings": lambda m: self._of_part(m, "heating", "steps", _count(_heatings)),
            "parts-off": lambda m: self._of_part(m, "part", "steps", _count(self._parts_off)),
            "joints": self._joints,
            "fasteners": self._joints,
            "drives": self._drives,
            "reuse": self._reuse,
            "index": self._index,
            "class": self._class,
            "score": self._score,
            "verdict": self._verdict,
            "verdicts": self._verdicts,
            "label": self._label,
            "battery": self._battery,
        }
        return figures[mark.figure](mark)

    # parts -----------------------------------------------------------------------------------------------------

    def _of_part(self, mark: Mark, unit: str, by: By, figure: Callable[[Reach], Value]) -> Value:
        """The greatest figure of the parts meant: a part by its id, or every part with a role."""
        names = self._meant(mark)
        if not names:
            return Value(unit, absent=True, reasons=(f"no part is {mark.of}",))
        values = [figure(self._reach(name, by)) for name in names]
        lows = [value.low for value in values]
        if any(low is None for low in lows):
            low, high = None, None
        else:
            low = max(low for low in lows if low is not None)
            highs = [value.high for value in values]
            high = None if None in highs else max(end for end in highs if end is not None)
        reasons = (f"of {len(names)} parts the greatest counts",) if len(names) > 1 else ()
        facts = tuple(
            Fact(f"parts.{n}", replace(v, unit=unit).text, "computed") for n, v in zip(names, values, strict=True)
        )
        looks = tuple(
            dict.fromkeys(
                look if look.about else replace(look, about=self.record.parts[name].name)
                for name, value in zip(names, values, strict=True)
                for look in value.look
                if value.low is None or value.low != value.high
            )
        )
        return Value(unit, low, high, reasons=reasons, facts=facts, look=looks if low != high or low is None else ())

    def _meant(self, mark: Mark) -> list[str]:
        of = str(mark.of)
        if of in get_args(Role):
            return [name for name, part in self.record.parts.items() if part.role == of and not part.stays]
        if of in self.record.parts:
            return [] if self.record.parts[of].stays else [of]
        if mark.if_absent is not None:
            return []
        known = [*get_args(Role), *self.record.parts]
        remedy = f"{unknown_remedy(of, known)} Or add if_absent to the criterion"
        raise DataError("rubric.unknown-part", f"criterion {mark.id}, of", f'no part and no role "{of}"', remedy)

    def _reach(self, name: str, by: By) -> Reach:
        if (name, by) not in self._reaches:
            self._reaches[name, by] = solve(self.record, [name], by)[name]
        return self._reaches[name, by]

    @cached_property
    def _folded(self) -> Record:
        return fold_log(self.record)

    def _tools(self, route: Route) -> frozenset[str]:
        return frozenset(tool for action in route.actions for tool in action.tools)

    def _special(self, reach: Reach) -> Value:
        """Tools that are no basic ones; a tool of unknown class may be either."""
        low, _ = _ends(reach, lambda route: sum(self._is_special(tool) for tool in self._tools(route)))
        _, high = _ends(reach, lambda route: sum(self._may_be_special(tool) for tool in self._tools(route)))
        looks = [
            Look("of which class is this tool?", f"tools.{tool}.class", self.record.tools[tool].name)
            for route in (reach.low, reach.high)
            for tool in sorted(self._tools(route) if route else ())
            if self.record.tools[tool].tool_class is None
        ]
        return Value(low=low, high=high, look=tuple(dict.fromkeys((*looks, *_looks(reach)))))

    def _is_special(self, tool: str) -> bool:
        return self.record.tools[tool].tool_class not in (None, "basic")

    def _may_be_special(self, tool: str) -> bool:
        return self.record.tools[tool].tool_class != "basic"

    def _parts_off(self, route: Route) -> int:
        out = {action.part for action in route.actions if action.do == "lift" and action.part}
        for action in route.actions:
            if action.do == "lift" and action.bundle:
                out.update(self._folded.bundles[action.bundle].parts)
        return len(out - {route.target})

    # joints ----------------------------------------------------------------------------------------------------

    def _joints(self, mark: Mark) -> Value:
        joints = [joint for joint in self.record.joints.values() if mark.of in (joint.kind, "all")]
        number = len(joints) if mark.figure == "joints" else sum(joint.count for joint in joints)
        unit = "joint" if mark.figure == "joints" else "fastener"
        return _exactly(number, unit, Fact("joints", f"{number} {unit}s, {mark.of}", "seen"))

    def _drives(self, mark: Mark) -> Value:
        screws = {name: joint for name, joint in self.record.joints.items() if joint.kind == "screw"}
        drives = {joint.drive for joint in screws.values() if joint.drive}
        unknown = [name for name, joint in screws.items() if not joint.drive]
        low, high = len(drives) or bool(unknown), len(drives) + len(unknown)
        called = {name: joint_name(self.record, name) for name in unknown}
        looks = tuple(Look("which drive has this screw?", f"joints.{n}.drive", c) for n, c in called.items())
        fact = Fact("joints", ", ".join(sorted(drives)) or "no drive is given", "seen")
        return Value("drive", Fraction(low), Fraction(high), facts=(fact,), look=looks)

    def _reuse(self, mark: Mark) -> Value:
        sure = sum(joint.reuse == mark.of for joint in self.record.joints.values())
        unknown = [name for name, joint in self.record.joints.items() if joint.reuse is None]
        ask, called = "what becomes of it when it is undone?", {n: joint_name(self.record, n) for n in unknown}
        looks = tuple(Look(ask, f"joints.{n}.reuse", c) for n, c in called.items())
        fact = Fact("joints", f"{sure} {mark.of}, {len(unknown)} not known", "seen")
        return Value("joint", Fraction(sure), Fraction(sure + len(unknown)), facts=(fact,), look=looks)

    # rule sets -------------------------------------------------------------------------------------------------

    def _answer(self, mark: Mark) -> Assessment:
        rules = str(mark.rules)
        if rules not in self._assessed:
            self._assessed[rules] = assess_record(self.record, self.on, rules)
        return self._assessed[rules]

    def _index(self, mark: Mark) -> Value:
        answer = self._answer(mark)
        return self._points(answer, answer.points)

    def _score(self, mark: Mark) -> Value:
        answer = self._answer(mark)
        node = answer.scores.get(str(mark.of))
        return self._points(answer, node.interval if node else None, str(mark.of))

    def _points(self, answer: Assessment, points: Interval | None, of: str = "") -> Value:
        if points is None:
            return Value("point", absent=not answer.applies, reasons=(answer.reason or "withheld",))
        looks = tuple(Look(item.what, item.where) for item in answer.open if not of or of in item.affects)
        return Value("point", points.low, points.high, look=looks)

    def _class(self, mark: Mark) -> Value:
        answer = self._answer(mark)
        if answer.grade is None or answer.points is None:
            return Value(absent=not answer.applies, reasons=(answer.reason or "withheld",))
        rows = [str(row["class"]) for row in _limits(answer, self.on)]
        first, last = sorted((rows.index(answer.grade.low), rows.index(answer.grade.high)))
        looks = tuple(Look(item.what, item.where) for item in answer.open)
        return Value(words=tuple(rows[first : last + 1]), look=looks if first != last else ())

    def _decision(self, mark: Mark) -> Decision:
        rules = str(mark.rules)
        if rules not in self._decided:
            self._decided[rules] = requirements(self.record, self.on, rules)
        return self._decided[rules]

    def _verdict(self, mark: Mark) -> Value:
        answer = self._decision(mark)
        if not answer.applies:
            return Value(absent=True, reasons=(answer.reason or "",))
        ruling = next(ruling for ruling in answer.rulings if ruling.id == mark.of)
        possible = (
            tuple(word for word in WORDS if word != "unknown") if ruling.verdict == "unknown" else (ruling.verdict,)
        )
        return Value(words=possible, reasons=ruling.reasons, facts=ruling.all_facts(), look=ruling.look_at())

    def _verdicts(self, mark: Mark) -> Value:
        answer = self._decision(mark)
        if not answer.applies:
            return Value("requirement", absent=True, reasons=(answer.reason or "",))
        counted = answer.count()
        word: Word = next(word for word in counted if word == mark.of)
        more = 0 if word == "unknown" else counted["unknown"]
        looks = tuple(look for look, _ in answer.look_at()) if more else ()
        return Value("requirement", Fraction(counted[word]), Fraction(counted[word] + more), look=looks)

    def _label(self, mark: Mark) -> Value:
        rules = str(mark.rules)
        if rules not in self._labels:
            self._labels[rules] = label(self.record, self.on, rules)
        answer = self._labels[rules]
        if not answer.applies:
            return Value(absent=True, reasons=(answer.reason or "",))
        measure = next(measure for measure in answer.measures if measure.id == mark.of)
        if measure.figure is None:
            return Value(measure.unit, reasons=measure.reasons, look=measure.look)
        high = None if measure.is_open_above else measure.figure.high
        return Value(measure.unit, measure.figure.low, high, facts=measure.facts, look=measure.look)

    # battery ---------------------------------------------------------------------------------------------------

    def _battery(self, mark: Mark) -> Value:
        key, unit = str(mark.of), BATTERY[str(mark.of)]
        found = [(name, part) for name, part in self.record.parts.items() if part.role == "battery"]
        if not found:
            return Value(unit, absent=True, reasons=("no part is the battery",))
        name, part = found[0]
        if key not in Battery.model_fields:
            return _computed(name, part, key, unit)
        value, at = getattr(part.battery, key, None), f"parts.{name}.battery.{key}"
        if value is None and key == "mass":
            value, at = part.mass, f"parts.{name}.mass"
        if value is None:
            return Value(unit, look=(Look(f"what is the {key.replace('_', ' ')} of the battery?", at),))
        fact = Fact(at, str(value), "seen")
        if isinstance(value, Quantity):
            span = spread(value)
            return Value(unit, span.low, span.high, facts=(fact,))
        return Value(words=(value,), facts=(fact,)) if isinstance(value, str) else _exactly(value, unit, fact)


def _computed(name: str, part: Part, key: str, unit: str) -> Value:
    """A computed fact of the battery: twice its standard uncertainty on either side, bare where none is given."""
    battery = part.battery or Battery()
    facts = (*fill_facts(battery, _energy(battery), battery.mass or part.mass), growth(battery), gap(battery))
    fact = next(fact for fact in facts if fact.id == key)
    at = f"parts.{name}.battery"
    if not isinstance(fact.value, float):
        return Value(unit, look=(Look(fact.look or "measure the battery", at),))
    value, u = Fraction(str(fact.value)), Fraction(str(fact.u or 0))
    told = Fact(at, f"{fact.title}: {fact.text}", "computed")
    return Value(
        unit, value - COVERAGE * u, value + COVERAGE * u, facts=(told,), look=(Look("measure more closely", at),)
    )


def _energy(battery: Battery) -> float | None:
    value = energy_of(battery).value
    return None if value is None else float(value)


def _exactly(number: int, unit: str, fact: Fact) -> Value:
    return Value(unit, Fraction(number), Fraction(number), facts=(fact,))


def _limits(answer: Assessment, on: date) -> Iterable[dict[str, object]]:
    return [dict(row) for row in edition(answer.rules).parameters["class.limits"].on(on).rows]


def _steps(reach: Reach) -> Value:
    """Low: the least number of steps that is not excluded; high: that of the high route."""
    if reach.low is None:
        return Value(look=_looks(reach))
    low = math.ceil(reach.low.bound) if not reach.low.proven else reach.low.steps
    high = None if reach.steps_high is None else Fraction(reach.steps_high)
    return Value(low=Fraction(low + reach.additions.low), high=high, look=_looks(reach))


def _time(reach: Reach) -> Value:
    if reach.low is None:
        return Value(look=_looks(reach))
    low = reach.low.time if reach.low.proven else reach.low.bound
    return Value(low=low, high=None if reach.high is None else reach.high.time, look=_looks(reach))


def _count(figure: Callable[[Route], int]) -> Callable[[Reach], Value]:
    def counted(reach: Reach) -> Value:
        low, high = _ends(reach, figure)
        return Value(low=low, high=high, look=_looks(reach))

    return counted


def _ends(reach: Reach, figure: Callable[[Route], int]) -> tuple[Fraction | None, Fraction | None]:
    """The figure spans those of the low and the high route; open above without a high route."""
    if reach.low is None:
        return None, None
    found = [figure(route) for route in (reach.low, reach.high) if route is not None]
    return Fraction(min(found)), None if reach.high is None else Fraction(max(found))


def _heatings(route: Route) -> int:
    return sum(action.do == "prepare" and action.what == "heat" for action in route.actions)


def _looks(reach: Reach) -> tuple[Look, ...]:
    if reach.low is None:
        return (Look(f"no route is known: {reach.reason}", f"parts.{reach.target}"),)
    ask = f"answer the bench questions on the way to it (unfasten ask RECORD --for {reach.target})"
    return (Look(ask, f"parts.{reach.target}"),)
