"""A headline in one sentence."""

from __future__ import annotations

from unfasten.compare.difference import Difference
from unfasten.compare.headline import Headline
from unfasten.compare.sides import Pair
from unfasten.service.report_words import clean, listing

#: what a property is called in a sentence
WORDS = {
    "cable.length": "cable length", "cable.needed": "length needed", "cable.connector": "connector",
    "holes": "hole pattern", "holes.diameter": "hole diameter", "holes.thread": "hole thread",
    "holes.turned": "hole pattern turned", "battery.size": "battery size", "battery.condition": "battery condition",
    "product.mass": "mass", "product.size": "size", "updates.years": "updates",
    "spare_parts.public": "spare parts for everybody", "spare_parts.professional": "spare parts for professionals",
    "repair_information.public": "repair information for everybody",
    "repair_information.professional": "repair information for professionals",
    "repair_information.board_diagrams": "board diagrams", "kind": "", "joint": "joint",
    "hazards": "hazard", "index": "index", "found under": "under",
}  # fmt: skip


def sentence(pair: Pair, headline: Headline, *, measured: bool = True) -> str:
    """One sentence for a headline, with measured differences against their uncertainty unless told beside it."""
    one = headline.lead
    names = listing([clean(name) for name in headline.names])
    if len(headline.differences) > 1 and one.what.startswith("battery."):
        return clean(f"{names}: other label: " + "; ".join(_change(each, measured) for each in headline.differences))
    if len(headline.differences) > 1 and one.kind == "re-routed":
        more = {"harder": "more", "easier": "less"}.get(headline.effect, "other")
        return clean(f"{names}: {more} {one.what}, each in the table")
    return clean(_sentence(pair, names, one, measured))


def _sentence(pair: Pair, names: str, one: Difference, measured: bool) -> str:
    before, after = pair.before.record.product.name, pair.after.record.product.name
    if one.kind == "re-scored":
        return f"{'Index' if one.what == 'index' else one.what} {one.before} → {one.after}"
    if one.what == "holes.turned":
        return f"{names}: {one.note}"
    if one.kind == "new":
        return f"{names}: new in the {after}" + _note(one)
    if one.kind == "gone":
        return f"{names}: gone, was in the {before}" + _note(one)
    if one.kind == "merged":
        return f"{one.before} are merged: {one.after}"
    if one.kind == "split":
        return f"{one.before} is split: {one.after}"
    if one.kind == "moved":
        return f"{names}: {_held(one)}" + _note(one)
    if one.kind == "covered":
        return f"{one.note.capitalize()}: under {one.before} → under {one.after}"
    if one.kind == "swings":
        return one.after if one.about[0] is None else f"{one.before}: no more"
    if one.what == "joint":
        new = one.about[0] is None
        return f"{names}: {'new' if new else 'gone'}, {one.after if new else one.before} {one.note}"
    return f"{names}: {_change(one, measured)}" + _note(one)


def _held(one: Difference) -> str:
    if one.before == "nothing":
        return f"also held to {one.after}"
    if one.after == "nothing":
        return f"no longer held to {one.before}"
    return f"held to {one.before} → {one.after}"


def _change(one: Difference, measured: bool) -> str:
    what = WORDS.get(one.what, one.what.replace("battery.", "").replace("_", " "))
    beside = f" ({one.measured.says()})" if one.measured is not None and measured else ""
    return f"{what} {clean(one.before)} → {clean(one.after)}{beside}".lstrip()


def _note(one: Difference) -> str:
    kept = one.kind in ("changed", "new", "gone") or one.what == "depth"
    return f"; {one.note}" if one.note and kept and one.kind != "re-routed" else ""
