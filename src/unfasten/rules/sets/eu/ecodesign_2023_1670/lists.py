"""List (c) names some parts only under a condition: the back cover, and the protective foil."""

from __future__ import annotations

from unfasten.rules.case import Allowed, Case, Subject
from unfasten.rules.sets.eu.ecodesign_2023_1670.products import is_foldable
from unfasten.rules.verdict import Ruling, Word, all_of

BATTERY, COVER, FOIL, CHARGER = "battery", "back-cover", "protective-foil", "charger"
TOOLS = frozenset(("basic", "with-part", "with-product", "commercial", "proprietary"))


def if_listed(ruling: Ruling, part: Subject, case: Case) -> Ruling:
    """The ruling of a part of list (c), if the list asks for the part in this product."""
    if part.name == FOIL and not is_foldable(case):
        return Ruling(part.id, part.called, "does not apply", ("asked for in foldable products only",))
    return _if_in_the_way(ruling, part, case) if part.name == COVER else ruling


def _if_in_the_way(ruling: Ruling, cover: Subject, case: Case) -> Ruling:
    """The back cover counts only if it must be fully removed for the battery."""
    passages = [case.passage(b.id, Allowed(TOOLS, without=frozenset((cover.id,)))) for b in case.named(BATTERY)]
    if all(passage.certain for passage in passages):
        why = "the battery comes out without its removal" if passages else "the record has no battery under it"
        return Ruling(ruling.id, ruling.title, "does not apply", (why,))
    if not any(passage.possible for passage in passages):
        return all_of(ruling.id, ruling.title, ruling.children, "it must be removed for the battery", *ruling.reasons)
    look = tuple(look for passage in passages for look in passage.look)
    verdict: Word = "met" if ruling.verdict == "met" else "unknown"
    why = "whether it must be removed for the battery is open"
    return Ruling(ruling.id, ruling.title, verdict, (why,), (ruling,), look=look)
