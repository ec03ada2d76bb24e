"""JSON of an archive: a repeated key, a number that JSON lacks, half a character and deep nesting are refused."""

from __future__ import annotations

import json
from typing import Any

from unfasten.archive.layout import DEPTH_LIMIT
from unfasten.evidence.place import shown


class NotStrict(ValueError):  # noqa: N818 - names the outcome
    """The text is not JSON as it is wanted here."""


def strict_json(data: bytes) -> Any:
    """Read JSON text; raise `NotStrict` with what is wrong."""
    try:
        text = data.decode("utf-8")
        tree = json.loads(text, object_pairs_hook=_once, parse_constant=_no_constant)
        json.dumps(tree, ensure_ascii=False, allow_nan=False).encode("utf-8")
    except UnicodeError as reason:
        raise NotStrict("it is not UTF-8 text") from reason
    except RecursionError as reason:
        raise NotStrict("it is nested too deep") from reason
    except NotStrict:
        raise
    except ValueError as reason:
        raise NotStrict(f"it is not JSON ({str(reason)[:80]})") from reason
    if _depth(tree) > DEPTH_LIMIT:
        raise NotStrict("it is nested too deep")
    return tree


def _once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    tree = dict(pairs)
    if len(tree) < len(pairs):
        names = [name for name, _ in pairs]
        twice = next(name for name in names if names.count(name) > 1)
        raise NotStrict(f"the key {shown(twice)} stands twice")
    return tree


def _no_constant(word: str) -> Any:
    raise NotStrict(f"{word} is no number of JSON")


def _depth(tree: Any) -> int:
    depth, level = 0, [tree]
    while level and depth <= DEPTH_LIMIT:
        depth += 1
        level = [
            child
            for node in level
            if isinstance(node, dict | list)
            for child in (node.values() if isinstance(node, dict) else node)
        ]
    return depth
