"""Changes to a record, as `place=value` texts: parsed strictly, applied to a plain tree that is a copy.

A place is written as findings write it (`joints.battery-plug.ways[0].under`). `=` sets: one word, words with commas
for a list, `none` for an empty list or to split up a bundle, `?` for not known. `+=` adds to a list; at `ways` it adds
a copy of the first way without preparation, with the tools named or by `hand`. `-=` takes a name out of a list; at
`under` and `behind` the part no longer covers: every entry that it would clear is dropped, and what only those entries
name counts as seen to be clear.
"""

from __future__ import annotations

import copy
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any, Final, Literal, TypeVar, get_origin

from unfasten.evidence.place import Path, place, shown
from unfasten.evidence.plain import PlainError, plain_value
from unfasten.record.finding import Finding
from unfasten.record.fold import fold_log
from unfasten.record.log import Found
from unfasten.record.read import Reading, read_tree
from unfasten.record.record import Record
from unfasten.record.shape import keys_of, kind_at
from unfasten.record.suggest import remedy
from unfasten.record.types import Noun

_N = TypeVar("_N", bound=Noun)
Op = Literal["=", "+=", "-="]
NONE: Final = "none"
UNKNOWN: Final = "?"
BY_HAND: Final = "hand"
_FORM: Final = re.compile(r"(?P<place>[^=+]*?)(?P<op>[+-]?=)(?P<value>.*)", re.DOTALL)
_STEP: Final = re.compile(r"(?P<dot>\.?)(?P<word>[A-Za-z0-9_-]{1,80})|\[(?P<index>[0-9]{1,4})\]")
_COVERS: Final = ("under", "behind")
_EXAMPLE: Final = "write PLACE=VALUE, such as joints.battery-glue.reuse=reusable"


@dataclass(frozen=True, slots=True)
class Edit:
    """One edit: what is done (`op`) at a place, and the value as it was written."""

    path: Path
    op: Op
    value: str

    def __str__(self) -> str:
        """The text that `parse_edit` reads back."""
        return f"{place(self.path)}{self.op}{self.value}"


class EditError(ValueError):
    """An edit that cannot be read or applied; the arguments are code, message and remedy."""

    def __init__(self, code: str, message: str, mend: str) -> None:
        super().__init__(message)
        self.code = code
        self.message = message
        self.mend = mend


def parse_edit(text: str) -> Edit:
    """Read one change; raises `EditError`.

    >>> parse_edit("joints.plug.ways[0].under-=brace").path
    ('joints', 'plug', 'ways', 0, 'under')
    """
    found = _FORM.fullmatch(text.strip())
    if found is None:
        raise EditError("change.syntax", f"{shown(text)} is no change", _EXAMPLE)
    value = found["value"].strip()
    if not value:
        raise EditError("change.syntax", "no value stands behind the sign", "write a value, none, or ? for not known")
    ops: dict[str, Op] = {"=": "=", "+=": "+=", "-=": "-="}
    return Edit(_path(found["place"].strip()), ops[found["op"]], value)


def _path(text: str) -> Path:
    steps: list[str | int] = []
    at = 0
    while at < len(text):
        found = _STEP.match(text, at)
        if found is None or (found["word"] is not None and bool(found["dot"]) != bool(steps)):
            raise EditError("change.syntax", f"{shown(text)} is no place in a record", _EXAMPLE)
        steps.append(int(found["index"]) if found["word"] is None else found["word"])
        at = found.end()
    if not steps:
        raise EditError("change.syntax", "no place stands before the sign", _EXAMPLE)
    return tuple(steps)


def settled(record: Record) -> Record:
    """The record with what its log found folded in and those entries gone: a change acts on all that is known.

    What was listed and found again stands there once.
    """
    log = tuple(entry for entry in record.log if not isinstance(entry, Found))
    folded = fold_log(record)
    joints = {
        name: joint.model_copy(update={"ways": tuple(_once(way, "under") for way in joint.ways)})
        for name, joint in folded.joints.items()
    }
    parts = {
        name: part.model_copy(update={"lift": _once(part.lift, "behind")}) if part.lift else part
        for name, part in folded.parts.items()
    }
    bundles = {
        name: bundle.model_copy(update={"lift": _once(bundle.lift, "behind")})
        for name, bundle in folded.bundles.items()
    }
    return folded.model_copy(update={"joints": joints, "parts": parts, "bundles": bundles, "log": log})


def _once(noun: _N, key: str) -> _N:
    """The way or lift with each cover, and each part that is clear, named once."""
    lists = {name: tuple(dict.fromkeys(getattr(noun, name))) for name in (key, "clear_of")}
    return noun.model_copy(update=lists)


def read_changed(record: Record, texts: Sequence[str]) -> Reading:
    """A copy of a settled record with every change made, checked as a file is: all findings at once, or a record."""
    tree = record.model_dump(mode="json", by_alias=True, exclude_defaults=True)
    tree = {"format": record.format, **tree}
    wrong: list[Finding] = []
    for text in texts:
        try:
            made = copy.deepcopy(tree)
            edit = parse_edit(text)
            edit_tree(made, edit)
            tests = made.get("swap_tests", {})
            tree = made | {"swap_tests": {name: test for name, test in tests.items() if not _overtakes(edit, test)}}
        except EditError as error:
            wrong.append(Finding("error", error.code, text, error.message, error.mend))
    reading = read_tree(tree)
    findings = (*wrong, *reading.findings)
    return Reading(None if findings else reading.record, findings)


def changed(record: Record, edits: Iterable[Edit]) -> Record:
    """A copy of a settled record with edits made to entries of it; names are not checked again.

    For edits that the program makes itself; only the entries that are touched are read anew. Raises `EditError`.
    """
    for edit in edits:
        section = str(edit.path[0])
        if section == "bundles" and len(edit.path) == 2:
            tree = record.model_dump(mode="json", by_alias=True, exclude_defaults=True)
            edit_tree(tree, edit)
            record = Record.model_validate({"format": record.format, **tree})
            continue
        whole = getattr(record, section)
        if isinstance(whole, Noun):
            node = {section: whole.model_dump(mode="json", by_alias=True)}
            edit_tree(node, edit)
            record = record.model_copy(update={section: type(whole).model_validate(node[section])})
            continue
        name = str(edit.path[1])
        tree = {section: {name: whole[name].model_dump(mode="json", by_alias=True, exclude_defaults=True)}}
        edit_tree(tree, edit)
        entry = type(whole[name]).model_validate(tree[section][name])
        more: dict[str, Any] = {section: {**whole, name: entry}}
        if edit.path[-1] == "pairing":
            tests = record.swap_tests
            more["swap_tests"] = {n: t for n, t in tests.items() if not _overtakes(edit, t.model_dump(mode="json"))}
        record = record.model_copy(update=more)
    return record


def _overtakes(edit: Edit, test: Any) -> bool:
    """Whether a change makes another product of the one that a swap test was made with: its part pairs otherwise."""
    if not isinstance(test, dict) or not isinstance(test.get("donor"), dict):
        return False
    own = test["donor"].get("source") == "same-model"
    return own and edit.path[0] == "parts" and edit.path[2:] == ("pairing",) and test.get("part") == edit.path[1]


def edit_tree(tree: dict[str, Any], edit: Edit) -> None:
    """Make one edit in a plain tree; raises `EditError`, and then the tree is of no more use."""
    node, key = _holder(tree, edit.path)
    if len(edit.path) == 2 and edit.path[0] == "bundles":
        _split(tree, edit)
    elif edit.op == "=":
        _set(tree, node, key, edit)
    elif get_origin(kind_at(tree, edit.path)) is not tuple:
        raise EditError("change.no-list", f"no list stands at {place(edit.path)}", "write = with the new value")
    elif edit.op == "+=":
        _add(node, str(key), edit)
    else:
        _take_out(node, str(key), edit)


def _holder(tree: dict[str, Any], path: Path) -> tuple[Any, str | int]:
    """The mapping or list that holds the last step; mappings that are not there yet are made."""
    node: Any = tree
    for number, step in enumerate(path):
        _check_step(tree, path[:number], node, step)
        if number == len(path) - 1:
            break
        if isinstance(node, dict) and node.get(step) is None:
            node[step] = {}
        node = node[step]
    return node, path[-1]


def _check_step(tree: dict[str, Any], path: Path, node: Any, step: str | int) -> None:
    kind = kind_at(tree, path)
    known: list[str]
    if isinstance(kind, type) and issubclass(kind, Noun):
        known = keys_of(kind)
    elif isinstance(node, dict):
        known = list(node)
    else:
        length = len(node) if isinstance(node, list) else 0
        if isinstance(step, int) and step < length:
            return
        what = f"0 to {length - 1}" if length > 1 else "0" if length else "a key that holds something"
        raise EditError("change.unknown-place", f"{place((*path, step))} is not there", f"use {what}")
    if step not in known:
        raise EditError(
            "change.unknown-place", f"{place(path)} has no {shown(step)}", remedy(step, known, "use one of")
        )


def _words(value: str) -> list[str]:
    return [word.strip() for word in value.split(",") if word.strip()]


def _set(tree: dict[str, Any], node: Any, key: str | int, edit: Edit) -> None:
    kind = kind_at(tree, edit.path)
    if edit.value == UNKNOWN and isinstance(node, dict):
        node.pop(key, None)
        if not node and len(edit.path) > 2:
            _holder(tree, edit.path[:-1])[0].pop(edit.path[-2], None)
    elif isinstance(kind, type) and issubclass(kind, Noun):
        inside = ", ".join(keys_of(kind)[:6])
        raise EditError("change.not-one-value", f"{place(edit.path)} holds more than one value", f"name one: {inside}")
    elif get_origin(kind) is tuple and edit.value != "all":
        if key in _COVERS and edit.value == NONE:
            _clear(node, _names(node.get(key)))
        node[key] = [] if edit.value == NONE else _words(edit.value)
    elif get_origin(kind) is dict:
        raise EditError("change.not-one-value", f"{place(edit.path)} is a whole section", "name an entry and a key")
    else:
        node[key] = _scalar(edit.value)


def _scalar(text: str) -> Any:
    try:
        return plain_value(text)
    except PlainError as error:
        raise EditError("change.bad-value", error.message, error.remedy) from None


def _add(node: dict[str, Any], key: str, edit: Edit) -> None:
    present = node.get(key)
    if key == "ways":
        first = {k: v for k, v in present[0].items() if k not in ("prepare", "tools")} if present else {}
        node[key] = [*(present or []), {**first, "tools": [] if edit.value == BY_HAND else _words(edit.value)}]
        return
    if present is None and key in ("public", "professional"):
        message = f"which parts are offered is not known at {place(edit.path)}, so none can be added"
        raise EditError("change.not-known", message, f"write {place(edit.path)}={edit.value}, or =all")
    names = present if isinstance(present, list) else []
    again = [word for word in _words(edit.value) if present == "all" or word in names]
    if again:
        raise EditError("change.already", f"{shown(again[0])} stands at {place(edit.path)} already", "leave it out")
    node[key] = [*names, *_words(edit.value)]


def _take_out(node: dict[str, Any], key: str, edit: Edit) -> None:
    present = node.get(key)
    entries = present if isinstance(present, list) else []
    names = _names(present)
    for word in _words(edit.value):
        if word not in names:
            mend = remedy(word, [str(name) for name in names], "there stand" if names else "nothing stands there")
            raise EditError("change.unknown-name", f"no {shown(word)} stands at {place(edit.path)}", mend)
        entries = [e for e in entries if word != e and not (isinstance(e, list) and word in e)]
    if key in _COVERS:
        _clear(node, [name for name in names if name not in _names(entries)])
    node[key] = entries


def _names(present: Any) -> list[Any]:
    """Names in a list, those in its any-of lists too, each once."""
    entries = present if isinstance(present, list) else []
    return list(dict.fromkeys(name for entry in entries for name in (entry if isinstance(entry, list) else [entry])))


def _clear(node: dict[str, Any], names: list[Any]) -> None:
    """Note that parts which covered are clear now, lest a partial survey make them unknown covers."""
    node["clear_of"] = [*(name for name in node.get("clear_of", []) if name not in names), *names]


def _split(tree: dict[str, Any], edit: Edit) -> None:
    """Take a bundle away; where the log lifted it, its parts came out one by one at that moment."""
    if edit.op != "=" or edit.value != NONE:
        raise EditError("change.not-one-value", "a bundle as a whole can only be split up", f"write ={NONE}")
    name = str(edit.path[1])
    parts = tree["bundles"].pop(name)["parts"]
    log: list[Any] = []
    for entry in tree.get("log", []):
        lifted = entry.get("do") == "lift" and entry.get("bundle") == name
        rest = {key: value for key, value in entry.items() if key not in ("bundle", "took")}
        log += [{**rest, "part": part} for part in parts] if lifted else [entry]
    tree["log"] = log
