"""Replacing the battery by another compatible one: what swap tests show."""

from __future__ import annotations

from unfasten.evidence.parameter import Law
from unfasten.rules.case import Case, Subject
from unfasten.rules.criterion import Readings
from unfasten.rules.node import Fact
from unfasten.rules.requirement import requirement
from unfasten.rules.sets.eu.batteries_2023_1542.removal import for_portable
from unfasten.rules.verdict import Look, Ruling

SAME, FOREIGN = "same-model", "other-maker"
WORKS = ("accepted", "after-pairing")
FAILS = ("limited", "refused")


@requirement("replaceable", title="replaceable by a compatible battery", clause="Article 11", needs=("portable.mass",))
def replaceable(case: Case, law: Law, readings: Readings) -> Ruling:
    """A swap test with a working result shows it; one of the same model that fails shows the contrary."""
    return for_portable(case, law, _replaceable)


def _replaceable(battery: Subject) -> Ruling:
    states = dict(battery.cells)
    facts = _facts(battery)
    if any(state in WORKS for state in states.values()):
        return Ruling(battery.id, battery.called, "met", ("a battery put in works in full",), facts=facts)
    if states.get(SAME) in FAILS:
        why = (f"a battery of the same model is {_said(states[SAME])}",)
        return Ruling(battery.id, battery.called, "not met", why, facts=facts)
    look = (Look("does another compatible battery work in full?", "swap_tests", battery.called),)
    return Ruling(battery.id, battery.called, "unknown", ("no swap test shows it",), facts=facts, look=look)


@requirement(
    "software", title="software does not impede the replacement", clause="Article 11", needs=("portable.mass",)
)
def software(case: Case, law: Law, readings: Readings) -> Ruling:
    """Only a battery of another maker shows whether software lets any compatible battery in."""
    return for_portable(case, law, _software)


def _software(battery: Subject) -> Ruling:
    state, facts = dict(battery.cells).get(FOREIGN), _facts(battery)
    if state == "accepted":
        why = ("a battery of another maker is accepted without being asked for anything",)
        return Ruling(battery.id, battery.called, "met", why, facts=facts)
    if state in FAILS:
        why = (f"a battery of another maker is {_said(state)}",)
        return Ruling(battery.id, battery.called, "not met", why, facts=facts)
    why = ("no swap test with a compatible battery of another maker shows it",)
    if state == "after-pairing":
        why = ("a battery of another maker is accepted after pairing; whether that impedes is a question of law",)
    look = (Look("is a compatible battery of another maker accepted?", "swap_tests", battery.called),)
    return Ruling(battery.id, battery.called, "unknown", why, facts=facts, look=look)


def _said(state: str | None) -> str:
    return "refused" if state == "refused" else "accepted with functions lost or messages shown"


def _facts(battery: Subject) -> tuple[Fact, ...]:
    return tuple(
        Fact("swap_tests", f"battery, {source}: {state}", "seen")
        for source, state in battery.cells
        if state != "untested"
    )
