"""Parts pairing: who gets the software that pairs a spare part, for how long, how soon, and what is asked for."""

from __future__ import annotations

import math
from dataclasses import replace

from unfasten.evidence.interval import known
from unfasten.evidence.parameter import Law
from unfasten.rules.case import Case, Subject
from unfasten.rules.criterion import Readings
from unfasten.rules.limits import at_least, at_most, counted, each_part, offered, offered_to_professionals, words_of
from unfasten.rules.node import Fact
from unfasten.rules.requirement import requirement
from unfasten.rules.sets.eu.ecodesign_2023_1670.lists import CHARGER, if_listed
from unfasten.rules.verdict import Look, Ruling, Word, all_of

PLACE = "supply.pairing_software"


@requirement(
    "pairing",
    title="access to the software that pairs spare parts",
    clause="Annex II, parts B and D, point 1.1(7)",
    needs=("parts.list_a", "parts.list_c", "pairing.days", "pairing.years", "pairing.asks"),
)
def pairing(case: Case, law: Law, readings: Readings) -> Ruling:
    """Every listed part that must be paired after its replacement; the terms are judged once for all of them."""
    inner, outer = words_of(law("parts.list_a")), words_of(law("parts.list_c"))
    names = [name for name in dict.fromkeys((*inner, *outer)) if name != CHARGER]
    terms = _terms(case, law)
    return each_part(
        "pairing", names, case, lambda part: if_listed(_part(part, case, terms, part.name in outer), part, case)
    )


def _part(part: Subject, case: Case, terms: Ruling, for_all: bool) -> Ruling:
    at = f"parts.{part.id}.pairing"
    if part.pairing is None:
        look = (Look("does a spare one work without pairing? swap it with that of another unit", at, part.called),)
        why = "no pairing is recorded, and no swap test shows that none is needed"
        return Ruling(part.id, part.called, "unknown", (why,), look=look)
    if not part.pairing:
        fact = Fact(at, "no pairing", part.pairing_origin)
        return Ruling(part.id, part.called, "does not apply", ("works without pairing",), facts=(fact,))
    fact = Fact(at, ", ".join(part.pairing), part.pairing_origin)
    whom = [_offered(part, "professional", case)]
    if for_all:
        whom.append(_offered(part, "public", case))
    why = f"needs remote {' and '.join(part.pairing)}"
    return replace(all_of(part.id, part.called, (*whom, terms), why), facts=(fact,))


def _offered(part: Subject, whom: str, case: Case) -> Ruling:
    said, at = case.supply.pairing_software, f"{PLACE}.{whom}"
    title = "software for end users" if whom == "public" else "software for professionals"
    look = Look(f"is pairing {title} given?", at, part.called)
    if whom == "public":
        return offered(f"{part.id}.{whom}", title, part.name, said.public, look)
    return offered_to_professionals(part, title, said, look)


def _terms(case: Case, law: Law) -> Ruling:
    said, days = case.supply.pairing_software, case.supply.response.pairing
    years = None if said.years is None else math.floor(said.years)
    return all_of(
        "terms",
        "terms",
        (
            at_least("years", "years of access", None if years is None else known(years), law("pairing.years").number,
                     Fact(f"{PLACE}.years", f"{years} years", "claimed"),
                     Look("for how many years is pairing software given?", f"{PLACE}.years")),
            at_most("days", "working days until access", days, law("pairing.days").number,
                    Fact("supply.response.pairing", counted(days, "working day"), "claimed"),
                    Look("within how many working days is pairing software given?", "supply.response.pairing")),
            _asks(said.asks, words_of(law("pairing.asks"))),
        ),
    )  # fmt: skip


def _asks(asked: tuple[str, ...] | None, allowed: tuple[str, ...]) -> Ruling:
    at = f"{PLACE}.asks"
    if asked is None:
        look = (Look("what is asked for before a spare part is paired?", at),)
        return Ruling("asks", "what is asked for", "unknown", ("not known",), look=look)
    more = [word for word in asked if word not in allowed]
    verdict: Word = "not met" if more else "met"
    why = f"asked for: {', '.join(asked) or 'nothing'}; allowed: {', '.join(allowed)}"
    fact = Fact(at, ", ".join(asked) or "nothing", "claimed")
    return Ruling("asks", "what is asked for", verdict, (why,), facts=(fact,))
