"""Do the names in a record mean something, and only one thing: checked on the tree, even where it has mistakes."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import groupby
from typing import Any, Final

from unfasten.evidence.place import Path, shown
from unfasten.record.place import Remark
from unfasten.record.references import SECTIONS, Reference, mapping, references
from unfasten.record.suggest import closest, remedy

#: guessing what a name was meant to be takes time, so it is done for the first unknown names only
_MOST_GUESSES: Final = 50
_SINGULAR: Final = {"tools": "tool", "parts": "part", "joints": "joint", "bundles": "bundle", "swings": "swing"}
_REQUIRED: Final = frozenset({"parts", "joints"})

Defined = dict[str, dict[str, Any] | None]


def name_remarks(tree: Any) -> Iterator[Remark]:
    """Yield a remark for each unknown, ambiguous or repeated name."""
    found = list(references(tree))
    defined = {section: _defined(tree, section) for section in _SINGULAR}
    yield from _unknown(found, defined)
    yield from _ambiguous(found, defined)
    yield from _repeated(found)


def _defined(tree: Any, section: str) -> dict[str, Any] | None:
    """Give what a section defines; None where it is unreadable, so that no name can be called unknown."""
    top = mapping(tree)
    if section not in top:
        return None if section in _REQUIRED else {}
    node = top[section]
    return node if isinstance(node, dict) else None


def _unknown(found: list[Reference], defined: Defined) -> Iterator[Remark]:
    guesses = 0
    for path, target, name in found:
        sections = [defined[section] for section in SECTIONS[target]]
        known = [section for section in sections if section is not None]
        if len(known) < len(sections) or any(name in section for section in known):
            continue
        guesses += 1
        words = " or ".join(", ".join(_SINGULAR[section] for section in SECTIONS[target]).rsplit(", ", 1))
        mend = _mend(target, name, known, defined) if guesses <= _MOST_GUESSES else f"name a {words} that is defined"
        yield Remark(path, "record.unknown-name", f"no {words} {shown(name)}", mend)


def _mend(target: str, name: str, known: list[dict[str, Any]], defined: Defined) -> str:
    names = [one for section in known for one in section]
    where = SECTIONS[target][0]
    if closest(name, names) is None:
        other = next((section for section, node in defined.items() if node and name in node), None)
        if other is not None:
            return f"{shown(name)} is a {_SINGULAR[other]}; a {_SINGULAR[where]} is wanted here"
    return remedy(name, names, f"define it under {where}, or use one of" if names else f"define it under {where}")


def _ambiguous(found: list[Reference], defined: Defined) -> Iterator[Remark]:
    for path, target, name in found:
        if target != "covered":
            continue
        meanings = [_SINGULAR[section] for section in SECTIONS[target] if name in (defined[section] or {})]
        if len(meanings) > 1:
            message = f"{shown(name)} is the id of a {' and of a '.join(meanings)}"
            yield Remark(path, "record.ambiguous-name", message, "give one of them another id")


def _repeated(found: list[Reference]) -> Iterator[Remark]:
    in_lists = (reference for reference in found if isinstance(reference.path[-1], int))
    for _, group in groupby(in_lists, key=lambda reference: reference.path[:-1]):
        first: dict[str, Path] = {}
        for path, _, name in group:
            if name in first:
                yield Remark(path, "record.repeated-name", f"{shown(name)} stands twice in this list", "keep one")
            first.setdefault(name, path)
