"""S_SP, spare parts: which priority parts the maker offers to whom."""

from __future__ import annotations

from dataclasses import dataclass

from unfasten.evidence.interval import Interval, short_text
from unfasten.evidence.parameter import Law
from unfasten.record.product import SpareParts
from unfasten.rules.criterion import Readings, criterion
from unfasten.rules.facts import Product
from unfasten.rules.node import Fact, Node, Remark
from unfasten.rules.scoring import Row, number, scale, words
from unfasten.rules.sets.eu.repairability_2023_1669.offscale import off_scale
from unfasten.rules.sets.eu.repairability_2023_1669.weights import BOTH, is_foldable

PLACE = "supply.spare_parts"
EVERY = "all"
WHOM = (("public", "end users"), ("professional", "professional repairers"))
TITLE = "spare parts"


@dataclass(frozen=True, slots=True)
class Offer:
    """Priority parts offered to end users and to professionals."""

    public: frozenset[str]
    professional: frozenset[str]


@criterion("S_SP", title=TITLE, clause="Annex IV, point 5", needs=("spare_parts.levels", "points.scale", *BOTH))
def spare_parts(product: Product, law: Law, readings: Readings) -> Node:
    """Points by the priority parts offered; a list that is not known may be empty or complete."""
    said, needed = product.supply.spare_parts, _needed(product, law, readings)
    rows = law("spare_parts.levels").rows
    worst, best = (_level(rows, needed, offer) for offer in _extremes(said, needed, readings))
    if best is None:
        what = "the spare parts offered reach no level; the last one asks for the display assembly for end users"
        return off_scale("S_SP", TITLE, what, PLACE, law, readings, _facts(said))
    low = scale(law).low if worst is None else number(worst, "points")
    points = Interval(min(low, number(best, "points")), number(best, "points"))
    return Node(
        "S_SP",
        TITLE,
        points,
        _reasons(worst, best, said, needed),
        uses=(law("spare_parts.levels"),),
        facts=_facts(said),
        remarks=() if points.is_known else _remarks(said),
    )


def _needed(product: Product, law: Law, readings: Readings) -> tuple[str, ...]:
    """Priority parts that must be offered: those that the product has; a hinge only in a foldable product."""
    roles = law(BOTH[is_foldable(product)]).table
    if readings["absent-spare-part"] == "needed":
        return tuple(roles)
    return tuple(role for role in roles if product.of_role(role))


def _extremes(said: SpareParts, needed: tuple[str, ...], readings: Readings) -> tuple[Offer, Offer]:
    """The poorest and the richest offer that the record leaves possible. More offered never gives fewer points."""
    every, none = frozenset(needed), frozenset[str]()
    out = []
    for if_unknown in (none, every):
        public, professional = (
            if_unknown if roles is None else every if roles == EVERY else frozenset(roles)
            for roles in (said.public, said.professional)
        )
        if readings["public-serves-professionals"] == "counts":
            professional = professional | public
        out.append(Offer(public, professional))
    return out[0], out[1]


def _level(rows: tuple[Row, ...], needed: tuple[str, ...], offer: Offer) -> Row | None:
    """The best row whose parts go to end users while every needed part goes to professionals; None if none is met."""
    met = [row for row in rows if not _missing(row, needed, offer)]
    return max(met, key=lambda row: number(row, "points"), default=None)


def _missing(row: Row, needed: tuple[str, ...], offer: Offer) -> list[str]:
    named = needed if words(row, "public") == (EVERY,) else words(row, "public")
    return [r for r in needed if r not in offer.professional or (r in named and r not in offer.public)]


def _row_text(row: Row) -> str:
    named = "every priority part" if words(row, "public") == (EVERY,) else ", ".join(words(row, "public"))
    return f"{named} to end users, the rest to professionals: {short_text(number(row, 'points'))}"


def _reasons(worst: Row | None, best: Row, said: SpareParts, needed: tuple[str, ...]) -> tuple[str, ...]:
    asked = f"asked for: {', '.join(needed) or 'no part'}"
    if worst is best:
        return (_row_text(best), asked)
    at_worst = "no level is reached, the lowest stands for it" if worst is None else _row_text(worst)
    unknown = " and ".join(whom for key, whom in WHOM if getattr(said, key) is None)
    return (
        f"what is offered to {unknown} is not known",
        f"at best {_row_text(best)}",
        f"at worst {at_worst}",
        asked,
    )


def _remarks(said: SpareParts) -> tuple[Remark, ...]:
    return tuple(
        Remark("open", f"which spare parts are offered to {whom}?", f"{PLACE}.{key}")
        for key, whom in WHOM
        if getattr(said, key) is None
    )


def _facts(said: SpareParts) -> tuple[Fact, ...]:
    return tuple(
        Fact(f"{PLACE}.{key}", roles if isinstance(roles, str) else ", ".join(roles) or "no part", "claimed")
        for key, roles in (("public", said.public), ("professional", said.professional))
        if roles is not None
    )
