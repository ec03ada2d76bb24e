"""Places in a file of data, and values, as a message shows them."""

from __future__ import annotations

import json
import re
from collections.abc import Iterable
from itertools import islice
from typing import Final

#: keys and indexes from the root of a tree to a node
Path = tuple[str | int, ...]

WHOLE: Final = "(whole file)"
#: most characters of a text, and most names of a list, in a message
SHOWN: Final = 60
NAMED: Final = 6
_PLAIN_KEY: Final = re.compile(r"[A-Za-z0-9_-]{1,80}")


def place(path: Path) -> str:
    """Write a path the way a person reads it.

    >>> place(("joints", "back-screws", "ways", 0, "tools", 1))
    'joints.back-screws.ways[0].tools[1]'
    >>> place(("parts", "Back Cover"))
    'parts["Back Cover"]'
    """
    out = ""
    for step in path:
        if isinstance(step, int):
            out += f"[{step}]"
        elif _PLAIN_KEY.fullmatch(step):
            out += f".{step}" if out else step
        else:
            out += f"[{shown(step)}]"
    return out or WHOLE


def shown(value: object) -> str:
    """Show a value in a message: short, and harmless on any terminal.

    >>> shown("hex-4"), shown(5), shown(None), shown([1])
    ('"hex-4"', '5', 'nothing', 'a list')
    """
    if value is None:
        return "nothing"
    if isinstance(value, dict):
        return "a mapping"
    if isinstance(value, list | tuple):
        return "a list"
    if isinstance(value, str):
        return _quoted(value)
    return json.dumps(value, default=str)


def listed(names: Iterable[str]) -> str:
    """Show a list of names in a message; of a long one, the first few.

    >>> listed(["plug", "brace"])
    '"plug", "brace"'
    """
    first = list(islice(names, NAMED + 1))
    return ", ".join(map(shown, first[:NAMED])) + (", …" if len(first) > NAMED else "")


def _quoted(text: str) -> str:
    cut = text if len(text) <= SHOWN else text[:SHOWN] + "…"
    safe = "".join(char if char.isprintable() else char.encode("unicode_escape").decode("ascii") for char in cut)
    return '"' + safe.replace('"', '\\"') + '"'
