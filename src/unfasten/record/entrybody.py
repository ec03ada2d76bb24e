"""Bodies of ledger entries that make a record: which places there are, and what is wrong with a body."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from functools import cache
from typing import Any, Final, get_origin

from unfasten.evidence.errors import DataError
from unfasten.evidence.place import shown
from unfasten.record.record import Record
from unfasten.record.types import ID_PATTERN, Noun

#: kinds of entry that make the record
PUT_RECORD: Final = "put-record"
PUT: Final = "put"
DROP: Final = "drop"
LOG: Final = "log"
UNDO: Final = "undo"
#: objects with an id, and objects of which a record has one
SECTIONS: Final = ("tools", "parts", "joints", "bundles", "swings", "photos")
SINGLES: Final = ("product", "setup", "sheet", "supply", "tests")
#: longest body of an entry [character]; a whole record may be as large as a record file
BODY_LIMIT: Final = 8 * 1024 * 1024
#: deepest nesting of a body
DEPTH_LIMIT: Final = 64
_ID: Final = re.compile(ID_PATTERN)
_KEYS: Final = {
    PUT: ({"at", "value"}, {"base"}),
    DROP: ({"at"}, {"base"}),
    LOG: ({"entry"}, set[str]()),
    UNDO: (set[str](), set[str]()),
}


@cache
def sections() -> tuple[str, ...]:
    """Keys of a record below which objects stand by their id."""
    return tuple(name for name, info in Record.model_fields.items() if get_origin(info.annotation) is dict)


@cache
def singles() -> tuple[str, ...]:
    """Keys of a record at which one object stands."""
    kinds = ((name, info.annotation) for name, info in Record.model_fields.items())
    return tuple(name for name, kind in kinds if isinstance(kind, type) and issubclass(kind, Noun))


def split_place(place: str) -> tuple[str, str | None]:
    """Split the place of an object into section and id; the id is None for what a record has one of.

    >>> split_place("joints.back-screws"), split_place("product")
    (('joints', 'back-screws'), ('product', None))
    """
    section, _, name = place.partition(".")
    return section, name or None


def is_place(place: object) -> bool:
    """Tell whether an object can stand at `place`."""
    if not isinstance(place, str):
        return False
    section, dot, name = place.partition(".")
    if dot:
        return section in sections() and len(name) <= 80 and _ID.match(name) is not None and "\n" not in name
    return section in singles()


def check_body(record: str, kind: str, body: Mapping[str, Any], where: str) -> Iterator[DataError]:
    """Yield what is wrong with the body of an entry of `record`; `where` names the entry in the messages."""
    if kind == PUT_RECORD:
        yield from _whole(record, body, where)
        return
    if kind not in _KEYS:
        return
    needed, free = _KEYS[kind]
    wrong = [f"no {shown(key)}" for key in sorted(needed - set(body))]
    wrong += [f"a key {shown(key)} that {kind} does not have" for key in sorted(set(body) - needed - free)]
    if wrong:
        yield DataError("ledger.bad-body", where, f"its body has {', '.join(wrong)}", f"write it as {kind} is written")
    if "at" in body and "at" in needed and not is_place(body["at"]):
        remedy = f"write SECTION.ID with one of {', '.join(sections())}, or one of {', '.join(singles())}"
        yield DataError("ledger.bad-place", where, f"{shown(body['at'])} is no place of an object", remedy)
    if not isinstance(body.get("base"), str | None):
        yield DataError("ledger.bad-body", where, "its base is no text", "give the id of an entry, or null")
    for key in {"value", "entry"} & needed & set(body):
        if not isinstance(body[key], dict):
            yield DataError("ledger.bad-body", where, f"its {key} is {shown(body[key])}", "give an object with keys")
    if kind in (PUT, DROP) and body.get("at") == "product":
        yield from _product(record, body.get("value"), where)


def _whole(record: str, tree: Mapping[str, Any], where: str) -> Iterator[DataError]:
    yield from _product(record, tree.get("product"), where)
    for key in (*sections(), *singles()):
        if not isinstance(tree.get(key, {}), dict):
            message = f"{key} is {shown(tree[key])}"
            yield DataError("ledger.bad-body", where, message, "give an object with keys")
    if not isinstance(tree.get("log", []), list):
        yield DataError("ledger.bad-body", where, f"log is {shown(tree['log'])}", "give a list of log entries")


def _product(record: str, product: object, where: str) -> Iterator[DataError]:
    held = product.get("id") if isinstance(product, dict) else None
    if held != record or not is_place(f"parts.{record}"):
        message = f"the product of record {shown(record)} cannot become {shown(held)}"
        yield DataError("ledger.other-product", where, message, "keep the product's id, or begin another record")
