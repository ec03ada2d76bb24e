"""Continuing the log of a record file in place, so that its comments and layout stay."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any, Final

import yaml

from unfasten.evidence.errors import DataError
from unfasten.record.log import Found
from unfasten.record.read import read_record
from unfasten.record.record import Record
from unfasten.record.write import to_yaml

_MARK: Final = b"\xef\xbb\xbf"


def with_entry(data: bytes, names: tuple[str, str], entry: Found, wanted: Record) -> tuple[bytes, bool]:
    """Give the bytes of the file with the entry at the end of its log, and whether its layout was kept.

    `names` are those of the file read and of the file to be written. Read by the second, the result is `wanted`, or
    nothing is given: raises `DataError`.
    """
    fields = {"do": "found", **entry.model_dump(mode="json", exclude_defaults=True)}
    text = data.removeprefix(_MARK).decode("utf-8")
    name, new_name = names
    is_json = name.lower().endswith(".json") or text.lstrip().startswith("{")
    if is_json:
        tries: list[tuple[str | None, bool]] = [(_json_with(text, fields), False)]
    else:
        tries = [(_yaml_with(text, fields), True), (to_yaml(wanted), False)]
    for new, kept in tries:
        if new is None:
            continue
        again = (_MARK if data.startswith(_MARK) else b"") + new.encode("utf-8")
        if read_record(again, new_name).record == wanted:
            return again, kept
    message = "the record with the answer would not read back as the same record"
    raise DataError("answer.not-the-same", new_name, message, "enter the answer by hand at the end of the log")


def _json_with(text: str, fields: Mapping[str, Any]) -> str:
    tree = json.loads(text)
    tree["log"] = [*tree.get("log", []), fields]
    return json.dumps(tree, indent=2, ensure_ascii=False) + "\n"


def _yaml_with(text: str, fields: Mapping[str, Any]) -> str | None:
    """The text with the entry as a line of its own after the last entry; None where the log is no list of lines."""
    log = _log_node(text)
    if not isinstance(log, yaml.SequenceNode) or log.flow_style or not log.value:
        return None
    newline = "\r\n" if "\r\n" in text else "\n"
    mark = _last(log).end_mark
    index = mark.index
    if mark.column:
        end = text.find("\n", index)
        index = len(text) if end < 0 else end + 1
    before = text[:index] if text[:index].endswith("\n") else text[:index] + newline
    return f"{before}{' ' * log.start_mark.column}- {_flow(fields)}{newline}{text[index:]}"


def _log_node(text: str) -> yaml.Node | None:
    root = yaml.compose(text, Loader=yaml.SafeLoader)
    if not isinstance(root, yaml.MappingNode):
        return None
    return next((value for key, value in root.value if key.value == "log"), None)


def _last(node: yaml.Node) -> yaml.Node:
    """The node in whose text the node's own text ends."""
    while node.value and isinstance(node, yaml.CollectionNode) and not node.flow_style:
        item = node.value[-1]
        node = item[1] if isinstance(item, tuple) else item
    return node


def _flow(fields: Mapping[str, Any]) -> str:
    """The entry as `{do: found, joint: speaker-plug, way: 0, clear_of: [shield]}`."""
    text = yaml.safe_dump(dict(fields), default_flow_style=True, sort_keys=False, allow_unicode=True, width=10_000)
    return text.strip()
