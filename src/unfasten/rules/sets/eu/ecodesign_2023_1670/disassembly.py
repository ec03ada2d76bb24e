"""Disassembly: fasteners and tools on a way out, and where and by whom a part can be replaced."""

from __future__ import annotations

from unfasten.evidence.parameter import Law
from unfasten.rules.case import Allowed, Case, Subject
from unfasten.rules.criterion import Readings
from unfasten.rules.limits import among, each_part, words_of
from unfasten.rules.node import Fact
from unfasten.rules.requirement import requirement
from unfasten.rules.sets.eu.ecodesign_2023_1670.durability import durable_battery
from unfasten.rules.sets.eu.ecodesign_2023_1670.lists import BATTERY, CHARGER, if_listed
from unfasten.rules.verdict import Look, Ruling, Word, all_of, any_of

CLAUSE = "Annex II, parts B and D, point 1.1(5)"
DISPLAY = "display-assembly"


@requirement(
    "disassembly-inner",
    title="replacing the display assembly and parts of list (a)",
    clause=CLAUSE,
    needs=("disassembly.inner", "parts.list_a"),
)
def inner(case: Case, law: Law, readings: Readings) -> Ruling:
    """The display assembly and every part of list (a) but the battery."""
    names = [DISPLAY, *(name for name in words_of(law("parts.list_a")) if name != BATTERY)]
    return each_part("inner", names, case, lambda part: replaced(part, case, law, "disassembly.inner"))


@requirement(
    "disassembly-outer",
    title="replacing parts of list (c)",
    clause=CLAUSE,
    needs=("disassembly.outer", "parts.list_c"),
)
def outer(case: Case, law: Law, readings: Readings) -> Ruling:
    """Every part of list (c) but battery and display assembly."""
    names = [name for name in words_of(law("parts.list_c")) if name not in (BATTERY, DISPLAY, CHARGER)]
    return each_part(
        "outer", names, case, lambda part: if_listed(replaced(part, case, law, "disassembly.outer"), part, case)
    )


@requirement(
    "disassembly-battery",
    title="replacing the battery",
    clause=CLAUSE,
    needs=("disassembly.battery", "disassembly.inner", "durable.capacity", "durable.ingress"),
)
def battery(case: Case, law: Law, readings: Readings) -> Ruling:
    """Route i: by a layman where the product is used; route ii: as inner parts, if the battery is durable."""
    return each_part("battery", (BATTERY,), case, lambda part: _battery(part, case, law))


def _battery(part: Subject, case: Case, law: Law) -> Ruling:
    easy = replaced(part, case, law, "disassembly.battery")
    inside = replaced(part, case, law, "disassembly.inner")
    first = all_of(f"{part.id}.i", "route i", (easy,))
    second = all_of(f"{part.id}.ii", "route ii", (inside, durable_battery(f"{part.id}.durable", case, law)))
    return any_of(part.id, part.called, (first, second), "one of the two routes must be met")


def replaced(part: Subject, case: Case, law: Law, figure: str) -> Ruling:
    """One part under the four limits of a row of the table."""
    limits = law(figure)
    allowed = Allowed(frozenset(words_of(limits, "tools")), frozenset(words_of(limits, "fasteners")))
    where, who = words_of(limits, "environment"), words_of(limits, "skill")
    at = f"parts.{part.id}.replacing"
    return all_of(
        part.id,
        part.called,
        (
            way_out(part, case, allowed),
            among(f"{part.id}.environment", "environment", part.environment, where, "seen",
                  Look("in which environment can it be replaced?", f"{at}.environment", part.called)),
            among(f"{part.id}.skill", "skill", part.skill, who, "seen",
                  Look("by whom can it be replaced?", f"{at}.skill", part.called)),
        ),
    )  # fmt: skip


def way_out(part: Subject, case: Case, allowed: Allowed) -> Ruling:
    """Whether some way out keeps to the fasteners and tools allowed."""
    name, title = f"{part.id}.way", "fasteners and tools"
    passage = case.passage(part.id, allowed)
    verdict: Word = "met" if passage.certain else "unknown" if passage.possible else "not met"
    reasons = {
        "met": ("a way out keeps to the fasteners and tools allowed",),
        "unknown": ("whether a way out keeps to them is open",),
        "not met": passage.faults or ("no way out keeps to them",),
    }
    fact = Fact(f"parts.{part.id}", f"way out {verdict}", "computed")
    return Ruling(name, title, verdict, reasons[verdict], facts=(fact,), look=passage.look)
