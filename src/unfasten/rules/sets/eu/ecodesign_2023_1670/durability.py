"""Battery endurance, falls, scratches, water: from the test figures of the record."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from unfasten.evidence.interval import Interval, known
from unfasten.evidence.parameter import Law
from unfasten.rules.case import Case
from unfasten.rules.criterion import Readings
from unfasten.rules.limits import at_least, row_of
from unfasten.rules.node import Fact
from unfasten.rules.requirement import requirement
from unfasten.rules.scoring import number
from unfasten.rules.sets.eu.ecodesign_2023_1670.products import is_foldable, product_of
from unfasten.rules.tested import capacity_after, ingress_digits
from unfasten.rules.verdict import Look, Ruling, Word, all_of, not_coded

PHONE = "phone"


def keeps_capacity(name: str, case: Case, law: Law, figure: str) -> Ruling:
    """The capacity left after each of the cycle counts of a parameter."""
    children = []
    for row in law(figure).rows:
        cycles, left = number(row, "cycles"), number(row, "left")
        found = capacity_after(case.tests.capacity, cycles)
        title = f"capacity after {int(cycles)} cycles"
        says = "no reading" if found is None else f"{title} {found} %"
        fact, ask = Fact("tests.capacity", says, "measured"), Look(f"measure the {title}", "tests.capacity")
        children.append(at_least(f"{name}.{int(cycles)}", title, found, left, fact, ask))
    return all_of(name, "capacity left after charge cycles", children)


def keeps_out(name: str, case: Case, objects: Fraction, water: Fraction) -> Ruling:
    """The two digits of the IP code against least ones; a digit X was not tested."""
    digits = ingress_digits(case.tests.ingress)
    children = []
    for kind, found, least in zip(("objects", "water"), digits, (objects, water), strict=True):
        fact = Fact("tests.ingress", case.tests.ingress or "", "measured")
        look = Look(f"which IP digit does the product reach for {kind}?", "tests.ingress")
        interval = None if found is None else known(found)
        children.append(at_least(f"{name}.{kind}", f"IP digit for {kind}", interval, least, fact, look))
    return all_of(name, "protection against objects and water", children)


def durable_battery(name: str, case: Case, law: Law) -> Ruling:
    """What lets a battery be for professionals only: capacity and protection together."""
    row = row_of(law("durable.ingress"), "product", product_of(case))
    capacity = keeps_capacity(f"{name}.capacity", case, law, "durable.capacity")
    return all_of(name, "durable battery", (capacity, keeps_out(f"{name}.ingress", case, row["objects"], row["water"])))


@requirement(
    "battery-endurance",
    title="battery endurance in cycles",
    clause="Annex II, parts B and D, battery endurance",
    needs=("battery.capacity",),
)
def endurance(case: Case, law: Law, readings: Readings) -> Ruling:
    """The capacity that is left after the cycles that every battery must bear."""
    return keeps_capacity("battery-endurance", case, law, "battery.capacity")


@requirement("falls", title="accidental falls", clause="Annex II, part B, accidental falls", needs=("falls.least",))
def falls(case: Case, law: Law, readings: Readings) -> Ruling:
    """Falls that every unit withstood, or that none did; in between the number of units that must pass is not coded."""
    if product_of(case) != PHONE:
        return not_coded("falls", "falls", "whether a number of falls is asked of slate tablets", "tests.falls")
    least = law("falls.least").table
    if not is_foldable(case):
        return _fell("falls.flat", "falls", case.tests.falls, least["folded_or_flat"], "tests.falls")
    extended = case.tests.falls_extended
    return all_of(
        "falls",
        "falls",
        (
            _fell("falls.folded", "falls, folded", case.tests.falls, least["foldable"], "tests.falls"),
            _fell("falls.extended", "falls, open", extended, least["foldable_extended"], "tests.falls_extended"),
        ),
    )


def _fell(name: str, title: str, units: Sequence[int], least: Fraction, at: str) -> Ruling:
    look = Look(f"how many {title} does each unit withstand?", at)
    fact = Fact(at, f"{', '.join(map(str, units))} {title}", "measured")
    found = Interval(Fraction(min(units)), Fraction(max(units))) if units else None
    ruling = at_least(name, title, found, least, fact, look)
    if found is None or ruling.verdict != "unknown":
        return ruling
    return not_coded(name, f"{title}: {fact.says}", "how many of the units must pass", at)


@requirement("scratch", title="scratch resistance", clause="Annex II, part B, scratch resistance",
             needs=("scratch.least",))  # fmt: skip
def scratch(case: Case, law: Law, readings: Readings) -> Ruling:
    """The hardness that the screen of a phone withstands."""
    if product_of(case) != PHONE:
        return not_coded("scratch", "scratch", "whether a scratch hardness is asked of slate tablets", "tests.scratch")
    found = case.tests.scratch
    fact = Fact("tests.scratch", f"Mohs {found}", "measured")
    look = Look("which Mohs hardness does the screen withstand?", "tests.scratch")
    interval = None if found is None else known(found)
    return at_least("scratch", "scratch", interval, law("scratch.least").number, fact, look)


@requirement("water", title="dust and water", clause="Annex II, parts B and D, dust and water",
             needs=("ingress.least",))  # fmt: skip
def water(case: Case, law: Law, readings: Readings) -> Ruling:
    """The IP code of a phone; the spill test of a tablet."""
    if product_of(case) == PHONE:
        least = law("ingress.least").table
        return keeps_out("water", case, least["objects"], least["water"])
    said = case.tests.spill
    if said is None:
        return Ruling("water", "spill", "unknown", ("not known whether the spill test is passed",),
                      look=(Look("does the tablet pass the spill test?", "tests.spill"),))  # fmt: skip
    verdict: Word = "met" if said == "passed" else "not met"
    return Ruling("water", "spill", verdict, (f"spill test {said}",), facts=(Fact("tests.spill", said, "measured"),))
