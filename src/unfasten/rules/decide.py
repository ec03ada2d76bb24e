"""Deciding: a case under a set of requirements, or of label quantities, on a day. It knows nothing of any law."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date

from unfasten.evidence.parameter import TooEarlyError
from unfasten.rules.assessment import Effect, Taken
from unfasten.rules.case import Case
from unfasten.rules.library import LabelSet, RequirementSet, RuleSet
from unfasten.rules.quantity import Measure, shown
from unfasten.rules.readings import choose
from unfasten.rules.verdict import WORDS, Look, Ruling, Word


@dataclass(frozen=True, slots=True)
class Found:
    """What both kinds of answer share; where `applies` is false only `reason` matters."""

    rules: str
    title: str
    on: date
    applies: bool
    reason: str | None = None
    readings: tuple[Taken, ...] = ()
    not_coded: tuple[str, ...] = ()
    note: str | None = None

    def head(self) -> dict[str, object]:
        """The first keys of the JSON form."""
        out: dict[str, object] = {"rules": self.rules, "title": self.title, "on": self.on.isoformat()}
        return out | {"applies": self.applies, "reason": self.reason}

    def tail(self) -> dict[str, object]:
        """The last keys of the JSON form."""
        readings = [taken.as_json() for taken in self.readings]
        return {"readings": readings, "not_coded": list(self.not_coded), "note": self.note}


@dataclass(frozen=True, slots=True)
class Decision(Found):
    """The verdicts of a set of requirements, in the order of the law, with the clause of each."""

    rulings: tuple[Ruling, ...] = ()
    clauses: Mapping[str, str] | None = None

    def count(self) -> dict[Word, int]:
        """How often each verdict stands."""
        return {word: sum(ruling.verdict == word for ruling in self.rulings) for word in WORDS}

    def look_at(self) -> tuple[tuple[Look, tuple[str, ...]], ...]:
        """What to look at, each with the requirements that it may settle; those that bear on most come first."""
        found: dict[Look, list[str]] = {}
        for ruling in self.rulings:
            for look in ruling.look_at():
                found.setdefault(look, []).append(ruling.id)
        ranked = sorted(found.items(), key=lambda item: (-len(item[1]), item[0].where, item[0].what))
        return tuple((look, tuple(ids)) for look, ids in ranked)

    def as_json(self) -> dict[str, object]:
        """Give the JSON form."""
        if not self.applies:
            return self.head()
        clauses = self.clauses or {}
        return {
            **self.head(),
            "verdicts": self.count(),
            "requirements": [ruling.as_json() | {"clause": clauses[ruling.id]} for ruling in self.rulings],
            "look_at": [look.as_json() | {"settles": list(ids)} for look, ids in self.look_at()],
            **self.tail(),
        }


@dataclass(frozen=True, slots=True)
class Label(Found):
    """The quantities of a label, in the order of the law."""

    measures: tuple[Measure, ...] = ()
    clauses: Mapping[str, str] | None = None

    def as_json(self) -> dict[str, object]:
        """Give the JSON form."""
        if not self.applies:
            return self.head()
        clauses = self.clauses or {}
        quantities = [measure.as_json() | {"clause": clauses[measure.id]} for measure in self.measures]
        return {**self.head(), "quantities": quantities, **self.tail()}


def decide(rules: RequirementSet, case: Case, on: date, readings: Mapping[str, str] | None = None) -> Decision:
    """Judge the case on a day; raises `CallError` for an unknown reading or option."""
    chosen = choose(rules.readings, readings or {})
    reason = rules.why_not(case.category, on)

    def judged(options: Mapping[str, str]) -> tuple[Ruling, ...]:
        return tuple(one(case, rules.parameters, on, options) for one in rules.requirements)

    try:
        rulings = () if reason else judged(chosen)
    except TooEarlyError as gap:
        reason, rulings = str(gap), ()
    if reason is not None:
        return Decision(rules.id, rules.title, on, applies=False, reason=reason)
    return Decision(
        rules.id,
        rules.title,
        on,
        applies=True,
        readings=_taken(rules, chosen, lambda options: {one.id: one.verdict for one in judged(options)}),
        not_coded=rules.not_coded,
        note=rules.note,
        rulings=rulings,
        clauses={one.id: one.clause for one in rules.requirements},
    )


def measure(rules: LabelSet, case: Case, on: date, readings: Mapping[str, str] | None = None) -> Label:
    """Compute the quantities on a day; raises `CallError` for an unknown reading or option."""
    chosen = choose(rules.readings, readings or {})
    reason = rules.why_not(case.category, on)

    def computed(options: Mapping[str, str]) -> tuple[Measure, ...]:
        return tuple(one(case, rules.parameters, on, options) for one in rules.quantities)

    try:
        measures = () if reason else computed(chosen)
    except TooEarlyError as gap:
        reason, measures = str(gap), ()
    if reason is not None:
        return Label(rules.id, rules.title, on, applies=False, reason=reason)
    return Label(
        rules.id,
        rules.title,
        on,
        applies=True,
        readings=_taken(rules, chosen, lambda options: {one.id: shown(one) for one in computed(options)}),
        not_coded=rules.not_coded,
        note=rules.note,
        measures=measures,
        clauses={one.id: one.clause for one in rules.quantities},
    )


def _taken(
    rules: RuleSet, chosen: Mapping[str, str], results: Callable[[Mapping[str, str]], Mapping[str, str]]
) -> tuple[Taken, ...]:
    """The readings as they were taken, with what each other option would change; `results` gives words by id."""
    before = results(chosen)
    return tuple(
        Taken(
            name,
            reading.question,
            reading.at,
            chosen[name],
            reading.options[chosen[name]],
            reading.why,
            tuple(
                _effect(name, option, before, results({**chosen, name: option}))
                for option in reading.options
                if option != chosen[name]
            ),
        )
        for name, reading in rules.readings.items()
    )


def _effect(name: str, option: str, before: Mapping[str, str], after: Mapping[str, str]) -> Effect:
    changed = [f"{one} {word}" for one, word in after.items() if before[one] != word]
    return Effect(option, None, None, bool(changed), f"{name}={option}: {'; '.join(changed) or 'changes nothing'}")
