"""Removing the battery: with tools that anyone can buy, without heat or solvents, as a whole."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction

from unfasten.evidence.parameter import Law
from unfasten.rules.case import Allowed, Case, Subject
from unfasten.rules.criterion import Readings
from unfasten.rules.limits import words_of
from unfasten.rules.node import Fact
from unfasten.rules.requirement import requirement
from unfasten.rules.verdict import Look, Ruling, Word, all_of

BATTERY = "battery"
#: free with the spare part, which is not free with the product
WITH_PART = "with-part"
COMMERCIAL = "commercial"
OTHER = "other"


@requirement(
    "removable",
    title="removable by the end user",
    clause="Article 11",
    needs=("portable.mass", "removal.tools"),
)
def removable(case: Case, law: Law, readings: Readings) -> Ruling:
    """Whether some way out needs neither heat nor solvent, nor a tool that the end user cannot get."""
    tools, doubtful = frozenset(words_of(law("removal.tools"))), frozenset((WITH_PART,))
    if readings["commercial-tools"] == "specialised":
        tools, doubtful = tools - {COMMERCIAL}, doubtful | {COMMERCIAL}
    allowed = Allowed(tools, heat=False, solvent=False, doubtful=doubtful)
    return for_portable(case, law, lambda battery: _removable(battery, case, allowed))


def _removable(battery: Subject, case: Case, allowed: Allowed) -> Ruling:
    passage = case.passage(battery.id, allowed)
    fact = Fact(f"parts.{battery.id}", "ways out under the limits on tools, heat and solvents", "computed")
    if passage.certain:
        why = ("a way out needs neither heat nor solvent nor special tools",)
        return Ruling(battery.id, battery.called, "met", why, facts=(fact,))
    if passage.possible:
        why = ("whether a way out does without heat, solvents and special tools is open",)
        return Ruling(battery.id, battery.called, "unknown", why, facts=(fact,), look=passage.look)
    if case.category == OTHER:
        look = (Look("does a derogation of Article 11 apply to this product?", "product.category"),)
        return Ruling(battery.id, battery.called, "unknown", passage.faults, facts=(fact,), look=look)
    return Ruling(battery.id, battery.called, "not met", passage.faults, facts=(fact,))


def for_portable(case: Case, law: Law, judge: Callable[[Subject], Ruling]) -> Ruling:
    """Every battery that is portable by its mass; does not apply to a product without one."""
    batteries = case.named(BATTERY)
    if not batteries:
        return Ruling(BATTERY, BATTERY, "does not apply", ("no part of the record has the role battery",))
    portable = _portable(case, law("portable.mass").number)
    if portable.verdict == "not met":
        return Ruling(
            BATTERY, BATTERY, "does not apply", ("no portable battery", *portable.reasons), facts=portable.facts
        )
    rulings = [judge(battery) for battery in batteries]
    if portable.verdict == "unknown":
        verdict: Word = "unknown"
        return Ruling(BATTERY, BATTERY, verdict, portable.reasons, tuple(rulings), look=portable.look)
    return all_of(BATTERY, BATTERY, rulings)


def _portable(case: Case, most: Fraction) -> Ruling:
    """By the mass of the battery; a whole product within the limit holds no battery beyond it."""
    if not case.masses:
        look = (Look("what is the mass of the battery?", "parts.battery.mass"),)
        return Ruling("portable", "portable", "unknown", ("the mass of the battery is not known",), look=look)
    at, mass = case.masses[0]
    fact = Fact(at, str(mass), "measured")
    verdict: Word = "met" if Fraction(mass.si) <= most else "not met"
    if verdict == "not met" and at == "product.mass":
        verdict = "unknown"
    look = (Look("what is the mass of the battery?", "parts.battery.mass"),)
    return Ruling("portable", "portable", verdict, (f"mass {mass}",), facts=(fact,), look=look)
