"""Guesses at what a mistyped name was meant to be."""

from __future__ import annotations

from collections.abc import Collection
from typing import Final

from unfasten.evidence.place import shown

_LONGEST_NAME: Final = 80
_MOST_NAMES: Final = 2000
_LISTED: Final = 12


def closest(name: str, names: Collection[str]) -> str | None:
    """Give the name most like `name`, or None if none is near; gives up on very many or very long names.

    >>> closest("hex-4", ["hex-3", "pick"])
    'hex-3'
    """
    from difflib import get_close_matches

    if len(name) > _LONGEST_NAME or len(names) > _MOST_NAMES:
        return None
    found = get_close_matches(name, sorted(names), n=1, cutoff=0.6)
    return found[0] if found else None


def remedy(name: object, names: Collection[str], otherwise: str = "write one of") -> str:
    """Say what to write instead of `name`: the closest name, else the names there are."""
    near = closest(name, names) if isinstance(name, str) else None
    if near is not None:
        return f"did you mean {shown(near)}?"
    if not names:
        return otherwise
    listed = ", ".join(list(names)[:_LISTED])
    return f"{otherwise} {listed}{', …' if len(names) > _LISTED else ''}"
