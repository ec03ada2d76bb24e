"""Help text on every field of a context, and the table of fields that the documentation shows.

A field is written `name: Annotated[type, "help text"]`.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import fields, is_dataclass
from typing import get_args, get_type_hints


def contexts(root: type) -> tuple[type, ...]:
    """Give a context class and every context class that its fields hold, outermost first, each once."""
    found: dict[type, None] = {}
    _walk(root, found)
    return tuple(found)


def _walk(context: type, found: dict[type, None]) -> None:
    if context in found:
        return
    found[context] = None
    for hint in get_type_hints(context).values():
        for inner in _inner(hint):
            _walk(inner, found)


def _inner(hint: object) -> Iterator[type]:
    if isinstance(hint, type) and is_dataclass(hint):
        yield hint
    for argument in get_args(hint):
        yield from _inner(argument)


def helps(context: type) -> dict[str, str]:
    """Give the help text of every field of a context; empty where a field has none."""
    hints = get_type_hints(context, include_extras=True)
    names = [item.name for item in fields(context)] if is_dataclass(context) else []
    return {name: str(next(iter(getattr(hints[name], "__metadata__", ())), "")) for name in names}


def field_table(root: type) -> str:
    """Give the Markdown table of all contexts and their fields with the help text of each."""
    lines = []
    for context in contexts(root):
        summary = (context.__doc__ or "").strip().splitlines()[0]
        lines += [f"### {context.__name__}", "", summary, "", "| field | meaning |", "|---|---|"]
        lines += [f"| `{name}` | {text} |" for name, text in helps(context).items()]
        lines.append("")
    return "\n".join(lines)
