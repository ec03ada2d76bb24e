"""What the models find wrong with a tree, said in plain words: one function per kind of error."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from types import MappingProxyType
from typing import Any, Final

from pydantic import ValidationError

from unfasten.evidence.place import Path, shown
from unfasten.evidence.quantity import QuantityError
from unfasten.record.place import Remark, node_at, path_in
from unfasten.record.record import FORMAT, Record
from unfasten.record.shape import keys_of, model_at
from unfasten.record.suggest import remedy
from unfasten.record.testfigures import INGRESS_PATTERN
from unfasten.record.types import CLOCK_PATTERN, ID_PATTERN

_LONGEST_MESSAGE: Final = 200
_LONGEST_ID: Final = 80
_ID_HELP: Final = "write lower-case words joined by hyphens, such as back-cover"
_CLOCK_HELP: Final = 'write hours, minutes and seconds, such as "0:01:40"'
_INGRESS_HELP: Final = "write two digits, X for one that was not tested, such as IP67 or IPX8"
_YES_NO: Final = MappingProxyType({"yes": "true", "on": "true", "no": "false", "off": "false"})
#: type of error -> what is wanted there
_WANTED: Final = MappingProxyType(
    {
        "model_type": "a mapping of keys",
        "model_attributes_type": "a mapping of keys",
        "dict_type": "a mapping of keys",
        "tuple_type": "a list",
        "string_type": "text",
        "int_type": "a whole number",
        "bool_type": "true or false",
    }
)


def structure_remarks(tree: Any, error: ValidationError) -> Iterator[Remark]:
    """Yield one remark per error of the models, in the order in which the models found them."""
    for detail in error.errors(include_url=False):
        if not _other_branch(tree, detail) and not _follows(detail):
            yield _remark(tree, detail)


def _remark(tree: Any, detail: Any) -> Remark:
    kind = detail["type"]
    path = path_in(tree, detail["loc"], missing=kind == "missing")
    told = _TELL.get(kind)
    if told is not None:
        return told(tree, path, detail)
    if kind in _WANTED:
        return _wrong_type(tree, path, detail)
    return Remark(path, "record.bad-value", f"{shown(detail['input'])} does not fit here", "see the record format")


def _other_branch(tree: Any, detail: Any) -> bool:
    """Whether the error speaks of a branch of a union (a list, or one word) that the value does not take."""
    is_list = isinstance(node_at(tree, path_in(tree, detail["loc"])), list) or isinstance(detail["loc"][-1], int)
    tags = [step for step in detail["loc"] if isinstance(step, str)]
    if any(tag.startswith("literal[") for tag in tags):
        return is_list
    return any(tag.startswith("tuple[") for tag in tags) and not is_list


def _follows(detail: Any) -> bool:
    """Whether a list counts as too short only because its entries, reported themselves, are wrong."""
    return detail["type"] == "too_short" and bool(len(detail["input"]) >= detail["ctx"]["min_length"])


def _wrong_type(tree: Any, path: Path, detail: Any) -> Remark:
    wanted = _WANTED[detail["type"]]
    value = detail["input"]
    if len(path) > 1 and path[-2] in ("under", "behind") and wanted == "a list":
        wanted = "the name of a part, or a list of names of which any one suffices"
    mend = f"write {wanted}"
    if wanted == "text" and isinstance(value, int | float):
        mend = f'put it in quotes: "{shown(value)}"'
    elif wanted == "true or false" and isinstance(value, str) and value.lower() in _YES_NO:
        mend = f"write {_YES_NO[value.lower()]}"
    elif wanted == "a list" and isinstance(value, str):
        mend = f"put it in brackets: [{value[:40]}]"
    elif value is None:
        mend = f"write {wanted}, or leave the key out"
    return Remark(path, "record.wrong-type", f"{shown(value)} stands here, where {wanted} is wanted", mend)


def _unknown_key(tree: Any, path: Path, detail: Any) -> Remark:
    model = model_at(tree, path[:-1])
    there = node_at(tree, path[:-1])
    allowed = [key for key in keys_of(model) if key not in there] if model and isinstance(there, dict) else []
    return Remark(
        path,
        "record.unknown-key",
        f"no key {shown(path[-1])} belongs here",
        remedy(path[-1], allowed, "delete it, or write one of"),
    )


def _missing(tree: Any, path: Path, detail: Any) -> Remark:
    key = path[-1]
    if isinstance(key, int):
        have = len(detail["input"])
        return Remark(
            path[:-1], "record.wrong-length", f"the list has {have} entries, too few", "write every entry, in order"
        )
    return Remark(path, "record.missing", "this key is missing", f"add '{key}: …'")


def _too_long_list(tree: Any, path: Path, detail: Any) -> Remark:
    most = detail["ctx"]["max_length"]
    return Remark(path, "record.wrong-length", f"the list has more than {most} entries", f"write exactly {most}")


def _empty_list(tree: Any, path: Path, detail: Any) -> Remark:
    return Remark(path, "record.wrong-length", "the list is empty", "write at least one entry")


def _choice(tree: Any, path: Path, detail: Any) -> Remark:
    value = detail["input"]
    if path == ("format",):
        message = f"the format {shown(value)} is not the one that is read here"
        return Remark(path, "record.wrong-format", message, f"write {FORMAT}")
    choices = _listed(detail["ctx"]["expected"])
    if choices == ["all"]:
        message = f"{shown(value)} stands here, where a list of roles or the word all is wanted"
        return Remark(path, "record.bad-value", message, "write [battery, …] or all")
    return Remark(path, "record.bad-value", f"{shown(value)} is none of the values allowed", remedy(value, choices))


def _listed(expected: str) -> list[str]:
    return expected[1:-1].replace("' or '", "', '").split("', '")


def _pattern(tree: Any, path: Path, detail: Any) -> Remark:
    value = detail["input"]
    if detail["ctx"]["pattern"] == ID_PATTERN:
        near = re.sub(r"[^a-z0-9]+", "-", value[:_LONGEST_ID].lower()).strip("-")
        mend = f"write {near}" if near else _ID_HELP
        return Remark(path, "record.bad-id", f"{shown(value)} is no id (lower-case words with hyphens)", mend)
    if detail["ctx"]["pattern"] == CLOCK_PATTERN:
        return Remark(path, "record.bad-clock", f"{shown(value)} is no time of the film", _CLOCK_HELP)
    if detail["ctx"]["pattern"] == INGRESS_PATTERN:
        return Remark(path, "record.bad-value", f"{shown(value)} is no IP code", _INGRESS_HELP)
    return Remark(path, "record.bad-value", f"{shown(value)} does not fit here", "see the record format")


def _too_short(tree: Any, path: Path, detail: Any) -> Remark:
    return Remark(path, "record.empty-text", "the text is empty", "write something, or leave the key out")


def _too_long(tree: Any, path: Path, detail: Any) -> Remark:
    most = detail["ctx"]["max_length"]
    return Remark(path, "record.out-of-range", f"the text has more than {most} characters", "shorten it")


def _range(tree: Any, path: Path, detail: Any) -> Remark:
    limits = detail["ctx"]
    limit = f"at least {limits['ge']}" if "ge" in limits else f"at most {limits['le']}"
    return Remark(path, "record.out-of-range", f"{shown(detail['input'])} is out of range", f"write {limit}")


def _own_words(tree: Any, path: Path, detail: Any) -> Remark:
    """Pass on what our own readers of quantities, days and years say."""
    error = detail["ctx"]["error"]
    unread = f"{shown(detail['input'])} cannot be read here"
    if isinstance(error, QuantityError):
        message, _, mend = str(error).rpartition("; ")
        return Remark(path, "record.bad-quantity", message if 0 < len(message) <= _LONGEST_MESSAGE else unread, mend)
    if "years" in str(error):
        return Remark(path, "record.wrong-type", unread, str(error))
    mend = str(error) if "YYYY" in str(error) else "write a day that exists, as YYYY-MM-DD"
    return Remark(path, "record.bad-day", unread, mend)


def _entry(tree: Any, path: Path, detail: Any) -> Remark:
    entry = node_at(tree, path)
    if not isinstance(entry, dict) or "do" not in entry:
        return Remark(
            (*path, "do"), "record.missing", "this key is missing", "say what was done, such as 'do: release'"
        )
    choices = _listed(detail["ctx"]["expected_tags"])
    message = f"{shown(entry['do'])} is no kind of log entry"
    return Remark((*path, "do"), "record.bad-value", message, remedy(entry["do"], choices))


_TELL: Final[MappingProxyType[str, Callable[[Any, Path, Any], Remark]]] = MappingProxyType(
    {
        "extra_forbidden": _unknown_key,
        "missing": _missing,
        "too_long": _too_long_list,
        "too_short": _empty_list,
        "literal_error": _choice,
        "string_pattern_mismatch": _pattern,
        "string_too_short": _too_short,
        "string_too_long": _too_long,
        "greater_than_equal": _range,
        "less_than_equal": _range,
        "value_error": _own_words,
        "union_tag_invalid": _entry,
        "union_tag_not_found": _entry,
    }
)


def validate(tree: Any) -> tuple[Record | None, list[Remark]]:
    """Make a record of a plain tree, or say what keeps it from being one."""
    try:
        return Record.model_validate(tree), []
    except ValidationError as error:
        return None, list(structure_remarks(tree, error))
