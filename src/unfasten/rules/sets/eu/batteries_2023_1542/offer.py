"""What goes with the battery: a spare one for years, and instructions that stay online."""

from __future__ import annotations

import math

from unfasten.evidence.interval import known
from unfasten.evidence.parameter import Law
from unfasten.rules.case import Case, Subject
from unfasten.rules.criterion import Readings
from unfasten.rules.limits import among, at_least, is_among
from unfasten.rules.node import Fact
from unfasten.rules.requirement import requirement
from unfasten.rules.sets.eu.batteries_2023_1542.removal import BATTERY, for_portable
from unfasten.rules.verdict import Look, Ruling, all_of

PLACE = "supply.spare_parts"


@requirement(
    "spare-battery",
    title="spare battery available",
    clause="Article 11",
    needs=("portable.mass", "spare.years"),
)
def spare_battery(case: Case, law: Law, readings: Readings) -> Ruling:
    """A spare battery is offered, and for enough years after the last unit."""
    years, at = case.supply.spare_parts.years, f"{PLACE}.years"
    fact, look = Fact(at, f"{years} years", "claimed"), Look("for how many years are spare parts offered?", at)
    found = None if years is None else known(math.floor(years))
    lasts = at_least("years", "years", found, law("spare.years").number, fact, look)
    return for_portable(case, law, lambda battery: all_of(battery.id, battery.called, (_offered(battery, case), lasts)))


def _offered(battery: Subject, case: Case) -> Ruling:
    said = case.supply.spare_parts
    for whom in ("public", "professional"):
        if is_among(BATTERY, getattr(said, whom)):
            return Ruling("offer", "offered", "met", ("offered",), facts=(Fact(f"{PLACE}.{whom}", BATTERY, "claimed"),))
    if said.public is None or said.professional is None:
        look = Look("is a spare battery offered, and to whom?", PLACE, battery.called)
        return Ruling("offer", "offered", "unknown", ("not known",), look=(look,))
    return Ruling("offer", "offered", "not met", ("offered to nobody",), facts=(Fact(PLACE, "no battery", "claimed"),))


@requirement("instructions", title="instructions online", clause="Article 11", needs=("portable.mass",))
def instructions(case: Case, law: Law, readings: Readings) -> Ruling:
    """Instructions for removal and replacement stay on a public website."""
    look = Look("do instructions for replacing the battery stay online?", "supply.battery_instructions")
    said = case.supply.battery_instructions
    return for_portable(case, law, lambda b: among(b.id, b.called, said, ("online",), "claimed", look))
