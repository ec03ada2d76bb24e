"""Completion of the entry line: what may stand at the caret, most likely first."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Any, Final

from unfasten.service.line.sheet import Sheet
from unfasten.service.line.tokens import Token, tokens_of
from unfasten.service.line.words import (
    CLASSES,
    FOUND_KEYS,
    HAND,
    JOINT_KEYS,
    KINDS,
    LIFT_KEYS,
    PART_KEYS,
    REUSES,
    ROLES,
    VERBS,
    tool_forms,
)

MOST: Final = 8
_KEYS: Final = {
    "lift": LIFT_KEYS,
    "swing": LIFT_KEYS,
    "found": FOUND_KEYS,
    "part": PART_KEYS,
    "release": ("way", "took"),
    "tool": ("class", "named", "kind", "size", "remark"),
}


def complete(line: str, caret: int, tree: Mapping[str, Any], expected: Mapping[str, Any] | None = None) -> list[str]:
    """Words that may stand where the caret is, at most `MOST`; each replaces the word that was begun there."""
    sheet = Sheet(tree, expected or {})
    before = tokens_of(line[:caret])
    begun = "" if not before or before[-1].end < caret else before.pop().text
    stem, part = ("", begun)
    for joiner in ("/", "+"):
        if joiner in part.lstrip("+"):
            head, _, part = part.rpartition(joiner)
            stem = f"{head}{joiner}"
    if begun.startswith("+") and not stem:
        return []
    found = _matching(part, _candidates(sheet, before))
    return [stem + word for word in found if stem + word != begun][:MOST]


def _matching(begun: str, words: Iterable[str]) -> list[str]:
    """Words that begin so, then words one of whose own words begins so (`cam` finds `rear-camera`)."""
    unique = list(dict.fromkeys(words))
    first = [word for word in unique if word.startswith(begun)]
    inside = [word for word in unique if word not in first and begun and f"-{begun}" in word]
    return first + inside


def _candidates(sheet: Sheet, before: Sequence[Token]) -> list[str]:
    if not before:
        return [*VERBS, *_tools(sheet), *KINDS]
    verb = before[0].text
    keys = _KEYS.get(verb, JOINT_KEYS)
    last = next((token.text for token in reversed(before) if token.text in keys and token is not before[0]), None)
    if last is None:
        return _after_verb(sheet, verb, len(before), keys)
    values = _VALUES.get(last)
    own = values(sheet) if values else []
    used = {token.text for token in before}
    listing = last in ("holds", "under", "behind", "clear", "of", "still", "keeps")
    mine = [word for word in own if word not in used] if listing or before[-1].text == last else []
    return [*mine, *(key for key in keys if key not in ("holds",) or "holds" not in used)]


def _after_verb(sheet: Sheet, verb: str, count: int, keys: Sequence[str]) -> list[str]:
    if verb in _FIRST:
        return _FIRST[verb](sheet) if count == 1 else list(keys)
    if verb in VERBS:
        return []
    return ["holds", *_tools(sheet), *KINDS]


def _tools(sheet: Sheet) -> list[str]:
    usual = [form.form for form in tool_forms() if form.form.isalpha()]
    return [*sheet.section("tools"), *sheet.hoped("tools"), HAND, *usual]


def _in_place(sheet: Sheet) -> list[str]:
    """Parts still in the product first, those that are out last."""
    out = sheet.out()
    names = [*sheet.section("parts"), *sheet.hoped("parts")]
    return [*(name for name in names if name not in out), *out]


def _clear(sheet: Sheet) -> list[str]:
    return ["rest", "but", *reversed(sheet.out()), *sheet.section("parts")]


def _undone(sheet: Sheet) -> list[str]:
    done = sheet.released()
    return [name for name in (*sheet.section("joints"), *sheet.hoped("joints")) if name not in done]


def _liftable(sheet: Sheet) -> list[str]:
    out = sheet.out()
    bundles = [*sheet.section("bundles"), *sheet.hoped("bundles")]
    return [*(name for name in _in_place(sheet) if name not in out), *bundles]


def _found(sheet: Sheet) -> list[str]:
    return [*reversed(list(sheet.released())), *sheet.section("joints"), *sheet.section("parts")]


def _sides(sheet: Sheet) -> list[str]:
    ways = [way for joint in sheet.section("joints").values() for way in joint.get("ways", ())]
    return [*dict.fromkeys(str(way["side"]) for way in ways if way.get("side")), "back", "front", "any"]


_FIRST: Final[Mapping[str, Callable[[Sheet], list[str]]]] = {
    "lift": _liftable,
    "swing": lambda sheet: [*sheet.section("swings"), *sheet.hoped("swings")],
    "release": _undone,
    "found": _found,
    "part": lambda sheet: [*sheet.hoped("parts"), *sheet.section("parts")],
    "tool": _tools,
    "drop": lambda sheet: ["joint", "part", "tool", "bundle", "swing"],
}
_VALUES: Final[Mapping[str, Callable[[Sheet], list[str]]]] = {
    "holds": _in_place,
    "under": _in_place,
    "behind": _in_place,
    "clear": _clear,
    "of": _in_place,
    "still": lambda sheet: [*sheet.section("joints"), *sheet.section("parts")],
    "keeps": _undone,
    "heat": _tools,
    "clean": _tools,
    "or": _tools,
    "with": _tools,
    "reuse": lambda sheet: list(REUSES),
    "role": lambda sheet: list(ROLES),
    "class": lambda sheet: list(CLASSES),
    "side": _sides,
    "pairing": lambda sheet: ["notification", "authorisation"],
}
