"""What differs beyond parts and joints: what the maker offers, swings, bundles, and the product as a whole."""

from __future__ import annotations

from collections.abc import Iterator

from unfasten.compare.build import both, difference, worse
from unfasten.compare.difference import Difference, Effect, Evidence
from unfasten.compare.measured import change_of
from unfasten.compare.sides import Sided
from unfasten.compare.structure import Structure
from unfasten.compare.words import joint_words, part_words
from unfasten.record.product import Product, Roles, Supply

NOT_KNOWN = "not known"
_COST = {"free": 0, "fee": 1, "none": 2}
_TO_WHOM = {"public": 0, "professional": 1, "none": 2}


def promise_differences(structure: Structure) -> Iterator[Difference]:
    """Differences in what the maker offers."""
    a, b = structure.pair.before.record.supply, structure.pair.after.record.supply
    for key, (one, other, effect) in _offers(a, b).items():
        if one != other:
            texts = (one or NOT_KNOWN, other or NOT_KNOWN)
            open_ = None in (one, other)
            yield difference(
                "promised",
                key,
                ("supply", "supply"),
                texts,
                effect="open" if open_ else effect,
                evidence=both((f"supply.{key}", f"supply.{key}"), texts),
            )


def _offers(a: Supply, b: Supply) -> dict[str, tuple[str | None, str | None, Effect]]:
    years = [s.updates.years if s.updates else None for s in (a, b)]
    out: dict[str, tuple[str | None, str | None, Effect]] = {
        "updates.years": (
            None if years[0] is None else f"{years[0]:f} years",
            None if years[1] is None else f"{years[1]:f} years",
            worse(-float(years[0] or 0), -float(years[1] or 0)),
        )
    }
    for who in ("public", "professional"):
        one, other = getattr(a.spare_parts, who), getattr(b.spare_parts, who)
        effect = worse(-_many(one), -_many(other))
        out[f"spare_parts.{who}"] = (_roles(one), _roles(other), effect)
        price = (getattr(a.repair_information, who), getattr(b.repair_information, who))
        out[f"repair_information.{who}"] = (*price, worse(_COST.get(price[0] or "", 0), _COST.get(price[1] or "", 0)))
    boards = (a.repair_information.board_diagrams, b.repair_information.board_diagrams)
    effect = worse(_TO_WHOM.get(boards[0] or "", 0), _TO_WHOM.get(boards[1] or "", 0))
    out["repair_information.board_diagrams"] = (*boards, effect)
    return out


def _roles(roles: Roles | None) -> str | None:
    if roles is None:
        return None
    return "all" if roles == "all" else ", ".join(sorted(set(roles))) or "none"


def _many(roles: Roles | None) -> int:
    return 1000 if roles == "all" else len(set(roles or ()))


def swing_differences(structure: Structure) -> Iterator[Difference]:
    """Parts that can be swung aside in one record only, or that keep other joints when they are."""
    pair = structure.pair
    yield from _swung(pair.before, pair.after)
    for one in _swung(pair.after, pair.before):
        yield one.mirrored()


def _swung(side: Sided, other: Sided) -> Iterator[Difference]:
    """Swings of a part that the other record does not swing."""
    there = {other.names[swing.part] for swing in other.record.swings.values()}
    for name, swing in side.record.swings.items():
        common = side.names[swing.part]
        if common not in there:
            kept = ", ".join(joint_words(joint) for joint in swing.keeps) or "nothing"
            text = f"{part_words(side, [common])} swings aside, keeps {kept}"
            yield difference(
                "swings",
                "part",
                (name, None),
                (text, "does not swing"),
                effect="harder",
                owners=[common],
                evidence=[Evidence("before", f"swings.{name}", text)],
            )


def bundle_differences(structure: Structure) -> Iterator[Difference]:
    """Bundles with other members that no new, gone, merged, split or moved part explains; by the bundle's id."""
    pair = structure.pair
    told = structure.gone | structure.new | structure.heirs | frozenset(structure.moved)
    before, after = pair.before.record.bundles, pair.after.record.bundles
    for name in sorted({*before, *after}):
        one = pair.before.common(before[name].parts) if name in before else frozenset()
        other = pair.after.common(after[name].parts) if name in after else frozenset()
        lonely = not one or not other
        if one ^ other and not ((one ^ other) <= told or (lonely and (one ^ other) & told)):
            texts = (part_words(pair.before, one), part_words(pair.after, other))
            ids = (name if one else None, name if other else None)
            yield difference("bundled", "parts", ids, texts, owners=(one ^ other),
                             evidence=both((f"bundles.{name}", f"bundles.{name}"), texts))  # fmt: skip


def product_differences(structure: Structure) -> Iterator[Difference]:
    """Mass and size of the whole product."""
    a, b = structure.pair.before.record.product, structure.pair.after.record.product
    yield from _mass(a, b)
    if a.size is not None and b.size is not None:
        changes = [change_of(x, y) for x, y in zip(a.size, b.size, strict=True)]
        moved = [change for change in changes if change.delta and change.beyond != "within"]
        if moved:
            texts = (" × ".join(map(str, a.size)), " × ".join(map(str, b.size)))
            largest = max(moved, key=lambda change: change.ratio)
            yield difference("changed", "product.size", ("product", "product"), texts, measured=largest,
                             evidence=both(("product.size", "product.size"), texts, measured=True))  # fmt: skip


def _mass(a: Product, b: Product) -> Iterator[Difference]:
    if a.mass is None or b.mass is None or a.mass.si == b.mass.si:
        return
    change = change_of(a.mass, b.mass)
    if change.beyond != "within":
        texts = (str(a.mass), str(b.mass))
        yield difference("changed", "product.mass", ("product", "product"), texts, measured=change,
                         evidence=both(("product.mass", "product.mass"), texts, measured=True))  # fmt: skip
