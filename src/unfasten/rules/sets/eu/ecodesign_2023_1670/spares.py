"""Spare parts: which are offered to whom, for how long, and whether any is sold only with another."""

from __future__ import annotations

import calendar
import math
from collections.abc import Sequence
from datetime import date

from unfasten.evidence.interval import known
from unfasten.evidence.parameter import Law
from unfasten.rules.case import Case, Subject
from unfasten.rules.criterion import Readings
from unfasten.rules.limits import at_least, each_part, groups_of, offered, offered_to_professionals, row_of, words_of
from unfasten.rules.node import Fact
from unfasten.rules.requirement import requirement
from unfasten.rules.sets.eu.ecodesign_2023_1670.durability import durable_battery, keeps_out
from unfasten.rules.sets.eu.ecodesign_2023_1670.lists import BATTERY, CHARGER, if_listed
from unfasten.rules.sets.eu.ecodesign_2023_1670.products import product_of
from unfasten.rules.verdict import Look, Ruling, all_of, any_of

PLACE = "supply.spare_parts"
WHOM = "to professionals"
MONTHS = len(calendar.month_name) - 1
CONTROLS = ("power_button", "volume_button", "charging_port")


@requirement(
    "parts-for-professionals",
    title="spare parts for professional repairers",
    clause="Annex II, parts B and D, spare parts, list (a)",
    needs=("parts.list_a", "parts.grace"),
)
def for_professionals(case: Case, law: Law, readings: Readings) -> Ruling:
    """Every part of list (a) that the product has goes to professional repairers."""
    names, soon = words_of(law("parts.list_a")), too_soon(case, law)
    if soon is not None:
        return soon
    return each_part("list (a)", names, case, lambda part: _to_professionals(part, part.called, case, readings))


@requirement(
    "parts-for-end-users",
    title="spare parts for end users and professional repairers",
    clause="Annex II, parts B and D, spare parts, list (c)",
    needs=("parts.list_c", "parts.grace", "durable.capacity", "durable.ingress"),
)
def for_end_users(case: Case, law: Law, readings: Readings) -> Ruling:
    """Every part of list (c) that the product has, or comes with, goes to both."""
    names, soon = words_of(law("parts.list_c")), too_soon(case, law)
    if soon is not None:
        return soon
    parts = each_part("list (c)", names, case, lambda part: _to_both(part, case, law, readings))
    children = [*parts.children, _charger(case, readings)] if CHARGER in names else list(parts.children)
    absent = [name for name in names if name != CHARGER and not case.named(name)]
    why = (f"absent from the record: {', '.join(absent)}",) if absent else ()
    return all_of("list (c)", "list (c)", children, *why)


def too_soon(case: Case, law: Law) -> Ruling | None:
    """Spare parts are asked for only some time after placement on the market; a day that is not known is past."""
    if case.released is None:
        law("parts.grace")
        return None
    month = case.released.year * MONTHS + case.released.month - 1 + int(law("parts.grace").number)
    year, number = divmod(month, MONTHS)
    last = calendar.monthrange(year, number + 1)[1]
    start = date(year, number + 1, min(case.released.day, last))
    if law.day >= start:
        return None
    fact = Fact("product.released", case.released.isoformat(), "claimed")
    return Ruling("soon", "soon", "does not apply", (f"asked for from {start} on",), facts=(fact,))


def _to_professionals(part: Subject, title: str, case: Case, readings: Readings) -> Ruling:
    said = case.supply.spare_parts
    look = Look("is it offered to professional repairers?", f"{PLACE}.professional", part.called)
    if readings["public-serves-professionals"] == "separate":
        return offered(part.id, title, part.name, said.professional, look)
    return offered_to_professionals(part, title, said, look)


def _to_public(part: Subject, case: Case) -> Ruling:
    look = Look("is it offered to end users?", f"{PLACE}.public", part.called)
    return offered(part.id, "to end users", part.name, case.supply.spare_parts.public, look)


def _to_both(part: Subject, case: Case, law: Law, readings: Readings) -> Ruling:
    public = _to_public(part, case)
    if part.name == BATTERY:
        public = any_of(part.id, "to end users, or durable", (public, durable_battery(f"{part.id}.durable", case, law)))
    both = all_of(part.id, part.called, (_to_professionals(part, WHOM, case, readings), public))
    return if_listed(both, part, case)


def _charger(case: Case, readings: Readings) -> Ruling:
    common, at = case.supply.common_charger, "supply.common_charger"
    charger = Subject(CHARGER, CHARGER, "Charger")
    if common:
        fact = Fact(at, "yes", "claimed")
        return Ruling(CHARGER, "Charger", "does not apply", ("charges from the common charger",), facts=(fact,))
    both = all_of(CHARGER, "Charger", (_to_professionals(charger, WHOM, case, readings), _to_public(charger, case)))
    if common is False or both.verdict == "met":
        return both
    look = (Look("does the product charge from the common charger?", at),)
    return Ruling(CHARGER, "Charger", "unknown", ("not needed with the common charger; not known",), look=look)


@requirement(
    "parts-for-years",
    title="years for which spare parts are offered",
    clause="Annex II, parts B and D, spare parts",
    needs=("parts.years",),
)
def for_years(case: Case, law: Law, readings: Readings) -> Ruling:
    """Years from the end of placement on the market."""
    years, at = case.supply.spare_parts.years, f"{PLACE}.years"
    fact, look = Fact(at, f"{years} years", "claimed"), Look("for how many years are spare parts offered?", at)
    found = None if years is None else known(math.floor(years))
    return at_least("parts-for-years", "years", found, law("parts.years").number, fact, look)


@requirement(
    "parts-not-bundled",
    title="no spare part sold only with another",
    clause="Annex II, parts B and D, spare parts",
    needs=("parts.list_a", "parts.list_c", "parts.together", "parts.together_if_durable", "durable.actuations",
           "durable.ingress"),
)  # fmt: skip
def bundled(case: Case, law: Law, readings: Readings) -> Ruling:
    """Each group that is sold only together: allowed as such, or if the product withstands enough."""
    said, at = case.supply.spare_parts.bundled, f"{PLACE}.bundled"
    if said is None:
        look = (Look("which spare parts are sold only together?", at),)
        return Ruling("parts-not-bundled", "bundles", "unknown", ("not known",), look=look)
    listed = frozenset(words_of(law("parts.list_a"))) | frozenset(words_of(law("parts.list_c")))
    groups = [_group(number, group, listed, case, law) for number, group in enumerate(said)]
    if not groups:
        return Ruling("parts-not-bundled", "bundles", "met", ("each part is sold by itself",),
                      facts=(Fact(at, "none", "claimed"),))  # fmt: skip
    return all_of("parts-not-bundled", "bundles", groups)


def _group(number: int, group: Sequence[str], listed: frozenset[str], case: Case, law: Law) -> Ruling:
    at = f"{PLACE}.bundled[{number}]"
    title, fact = f"{', '.join(group)} together", Fact(at, ", ".join(group), "claimed")
    asked = [name for name in group if name in listed]
    allowed = [frozenset(group) for group in groups_of(law("parts.together"))]
    if len(set(asked)) <= 1 or frozenset(asked) in allowed:
        return Ruling(at, title, "met", ("allowed together",), facts=(fact,))
    loose = [name for name in asked if name not in words_of(law("parts.together_if_durable"))]
    if len(set(loose)) > 1 or not set(asked) - set(loose):
        return Ruling(at, title, "not met", (f"no bundle is allowed of {', '.join(asked)}",), facts=(fact,))
    withstands = all_of(at, "controls and protection", _withstands(at, case, law))
    return all_of(at, title, (withstands,), "allowed if controls and protection are durable")


def _withstands(name: str, case: Case, law: Law) -> list[Ruling]:
    product, tests = product_of(case), case.tests.actuations
    digits = row_of(law("durable.ingress"), "product", product)
    out = [keeps_out(name, case, digits["objects"], digits["water"])]
    least = row_of(law("durable.actuations"), "product", product)
    for control in CONTROLS:
        found, at = getattr(tests, control), f"tests.actuations.{control}"
        title = f"operations of the {control.replace('_', ' ')}"
        fact, look = Fact(at, f"{found} operations", "measured"), Look(f"how many {title} does it withstand?", at)
        out.append(at_least(at, title, None if found is None else known(found), least[control], fact, look))
    return out
