"""The exported JSON Schema and the reader agree on every document that needs no following of names."""

from __future__ import annotations

import copy
import json
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from jsonschema import Draft202012Validator

from unfasten.record.read import read_record
from unfasten.record.schema import BEYOND, DIALECT, record_schema

#: what the reader finds and a schema cannot express; the schema's comment lists it
BEYOND_CODES = {
    "record.unknown-name",
    "record.ambiguous-name",
    "record.repeated-name",
    "record.no-frame",
    "record.several-frames",
    "record.frame-moves",
    "record.keeps-other-joint",
    "record.no-target",
    "record.several-targets",
    "record.wrong-cover-key",
    "record.way-without-joint",
    "record.way-out-of-range",
    "record.own-predecessor",
}
GOOD: dict[str, Any] = {
    "format": "unfasten-record/1",
    "product": {
        "id": "tarn-11",
        "name": "Tarn 11",
        "maker": "Fellwright",
        "category": "slate-tablet",
        "released": "2026-03-02",
        "size": ["248.2 mm", "172.4 mm", "7.1 mm"],
        "mass": "512.3 ± 0.2 g",
    },
    "sheet": {"number": "FW-1", "edition": 2},
    "setup": {"tool_change": "1.4 s", "survey": "partial"},
    "tools": {"hex-3": {"name": "Hexalobular driver 3", "class": "basic"}},
    "parts": {
        "frame": {"name": "Midframe", "stays": True},
        "cover": {"name": "Back cover", "role": "back-cover", "lift": {"side": "back", "behind": ["tape"]}},
        "tape": {"name": "Tape", "battery": {"cells_in_series": 1, "nominal_voltage": "3.87 V"}, "pairing": []},
    },
    "joints": {
        "screws": {
            "kind": "screw",
            "holds": ["cover", "frame"],
            "count": 4,
            "ways": [
                {"tools": ["hex-3"], "time": "7 s each", "under": ["tape", ["cover", "tape"]]},
                {"prepare": [{"do": "heat", "tools": ["hex-3"], "time": "2 min"}]},
            ],
        }
    },
    "bundles": {"pair": {"parts": ["cover", "tape"]}},
    "swings": {"open": {"part": "cover", "keeps": ["screws"]}},
    "supply": {"spare_parts": {"public": ["battery"], "professional": "all"}, "updates": {"years": 5}},
    "log": [
        {"at": "0:00:50", "do": "release", "joint": "screws", "way": 0, "took": "46 s"},
        {"do": "lift", "part": "cover"},
        {"do": "found", "joint": "screws", "under": [["cover", "tape"]]},
        {"do": "note", "text": "x"},
        {"do": "pause"},
        {"do": "swing", "swing": "open"},
    ],
}
VALIDATOR = Draft202012Validator(record_schema())


def schema_says(tree: Any) -> bool:
    return bool(VALIDATOR.is_valid(tree))


def reader_says(tree: Any) -> bool:
    """Whether the reader finds nothing but what a schema cannot express."""
    findings = read_record(json.dumps(tree).encode(), "x.json").findings
    return {finding.code for finding in findings} <= BEYOND_CODES


def with_change(path: tuple[str | int, ...], value: Any) -> Any:
    """Give the good record with `value` at `path`; ... deletes the key."""
    tree = copy.deepcopy(GOOD)
    node: Any = tree
    for step in path[:-1]:
        node = node[step]
    if value is ...:
        del node[path[-1]]
    else:
        node[path[-1]] = value
    return tree


VALID: list[tuple[tuple[str | int, ...], Any]] = [
    (("sheet",), ...),
    (("log",), []),
    (("tools",), {}),
    (("product", "mass"), None),
    (("product", "mass"), "1 kg"),
    (("product", "size"), None),
    (("parts", "cover", "role"), None),
    (("parts", "cover", "lift"), {}),
    (("joints", "screws", "ways", 0), {}),
    (("joints", "screws", "ways", 0, "time"), "7s"),
    (("joints", "screws", "ways", 0, "time"), "7 +/- 1 s each"),
    (("parts", "cover", "size"), ["1 μm", "1 µm", "1 cm"]),
    (("supply", "updates", "years"), 5.5),
    (("supply", "spare_parts", "public"), []),
    (("log", 0, "at"), "100:00:00.5"),
    (("bundles",), {}),
]
INVALID: list[tuple[tuple[str | int, ...], Any]] = [
    (("format",), "unfasten-record/2"),
    (("product",), ...),
    (("product", "maker"), ...),
    (("product", "maker"), None),
    (("product", "maker"), ""),
    (("product", "maker"), "x" * 4001),
    (("product", "colour"), "red"),
    (("product", "id"), "Tarn 11"),
    (("product", "id"), "x" * 81),
    (("product", "category"), "tablet"),
    (("product", "released"), "2026-3-2"),
    (("product", "size"), ["1 mm", "2 mm"]),
    (("product", "size"), ["1 mm", "2 mm", "3 mm", "4 mm"]),
    (("product", "mass"), 512),
    (("product", "mass"), "512 mm"),
    (("product", "mass"), "512 g each"),
    (("product", "mass"), "-1 g"),
    (("sheet", "edition"), 0),
    (("setup", "tool_change"), "1.4 s each"),
    (("tools", "Hex 3"), {"name": "x"}),
    (("tools", "x" * 81), {"name": "x"}),
    (("tools", "hex-3"), {}),
    (("tools", "hex-3", "tool_class"), "basic"),
    (("tools",), None),
    (("parts",), ...),
    (("parts", "cover", "stays"), "yes"),
    (("parts", "cover", "stays"), 1),
    (("parts", "tape", "battery", "cells_in_series"), 0),
    (("joints", "screws", "holds"), []),
    (("joints", "screws", "ways"), []),
    (("joints", "screws", "count"), 0),
    (("joints", "screws", "count"), True),
    (("joints", "screws", "kind"), ...),
    (("joints", "screws", "ways", 0, "under"), [[]]),
    (("joints", "screws", "ways", 0, "under"), "tape"),
    (("joints", "screws", "ways", 0, "under"), ["x" * 81]),
    (("joints", "screws", "ways", 0, "under"), [["tape", "x" * 81]]),
    (("joints", "screws", "ways", 0, "under"), [["tape", 3]]),
    (("joints", "screws", "ways", 1, "prepare", 0, "do"), "cool"),
    (("bundles", "pair", "parts"), []),
    (("supply", "updates", "years"), -1),
    (("supply", "updates", "years"), "5"),
    (("supply", "updates"), {}),
    (("supply", "spare_parts", "public"), "some"),
    (("supply", "spare_parts", "public"), ["frame"]),
    (("log", 0, "way"), -1),
    (("log", 0, "at"), "0:00:61"),
    (("log", 0, "joint"), ...),
    (("log", 1, "do"), "drop"),
    (("log", 1, "do"), ...),
    (("log", 3, "text"), ...),
    (("log", 4, "joint"), "screws"),
    (("log", 0), "release"),
    (("log",), {}),
]


def test_it_is_a_valid_schema_of_the_draft() -> None:
    schema = record_schema()
    assert schema["$schema"] == DIALECT
    Draft202012Validator.check_schema(schema)
    assert "discriminator" not in json.dumps(schema)


@pytest.mark.parametrize(("path", "value"), [((), None), *VALID], ids=lambda value: str(value)[:50])
def test_both_accept(path: tuple[str | int, ...], value: Any) -> None:
    tree = with_change(path, value) if path else GOOD
    assert schema_says(tree)
    assert reader_says(tree)


@pytest.mark.parametrize(("path", "value"), INVALID, ids=lambda value: str(value)[:50])
def test_both_refuse(path: tuple[str | int, ...], value: Any) -> None:
    tree = with_change(path, value)
    assert not schema_says(tree)
    assert not reader_says(tree)


def test_what_the_schema_cannot_express_is_refused_by_the_reader_only() -> None:
    beyond: list[tuple[tuple[str | int, ...], Any]] = [
        (("joints", "screws", "holds"), ["cover", "fram"]),
        (("parts", "frame", "stays"), False),
        (("log", 1, "bundle"), "pair"),
        (("product", "predecessor"), "tarn-11"),
        (("product", "released"), "2026-02-30"),
        (("joints", "screws", "count"), 4.0),
        (("product", "maker"), "Fell\x07wright"),
    ]
    for path, value in beyond:
        tree = with_change(path, value)
        assert schema_says(tree), path
        assert read_record(json.dumps(tree).encode(), "x.json").record is None, path
    for named in ("calendar", "decimal point", "control characters", "predecessor", "exactly one part stays"):
        assert named in BEYOND


def _paths(node: Any, path: tuple[str | int, ...] = ()) -> list[tuple[str | int, ...]]:
    children = node.items() if isinstance(node, dict) else enumerate(node) if isinstance(node, list) else ()
    return [path, *(found for key, child in children for found in _paths(child, (*path, key)))]


PATHS = [path for path in _paths(GOOD) if path]
VALUES = (
    st.none()
    | st.booleans()
    | st.integers(-2, 300)
    | st.sampled_from([0.5, 1.5, -0.25])
    | st.sampled_from(
        ["", "tape", "Tape", "all", "full", "back-cover", "heat", "lift", "release", "2026-03-02", "0:00:50"]
    )
    | st.sampled_from(
        ["5 g", "5 s", "5 s each", "5 mm", "5mm", "5.5 ± 1 mm", "5 V", "5", "1.4 s ", "x", "µm", "00 s"]
    ).map(str.strip)
    | st.lists(st.sampled_from(["tape", "cover", 3, None, ["tape"], "1 mm"]), max_size=4)
    | st.dictionaries(
        st.sampled_from(["name", "do", "part", "text", "parts", "tools", "X y"]), st.just("tape"), max_size=2
    )
)


@settings(deadline=None, max_examples=150)
@given(changes=st.lists(st.tuples(st.sampled_from(PATHS), VALUES), min_size=1, max_size=3))
def test_both_agree_on_any_change(changes: list[tuple[tuple[str | int, ...], Any]]) -> None:
    tree: Any = copy.deepcopy(GOOD)
    for path, value in changes:
        node = tree
        for step in path[:-1]:
            node = node[step] if isinstance(node, dict | list) and _has(node, step) else None
        if isinstance(node, dict) or (isinstance(node, list) and _has(node, path[-1])):
            node[path[-1]] = value  # type: ignore[call-overload,index]
    assert schema_says(tree) == reader_says(tree), read_record(json.dumps(tree).encode(), "x.json").findings


def _has(node: Any, step: str | int) -> bool:
    return step in node if isinstance(node, dict) else isinstance(step, int) and step < len(node)


@settings(deadline=None, max_examples=100)
@given(
    source=st.sampled_from(PATHS), target=st.sampled_from(PATHS), key=st.sampled_from([None, "name", "note", "parts"])
)
def test_both_agree_when_one_piece_is_hung_elsewhere(
    source: tuple[str | int, ...], target: tuple[str | int, ...], key: str | None
) -> None:
    piece: Any = GOOD
    for step in source:
        piece = piece[step]
    tree = with_change(target, copy.deepcopy(piece))
    if key is not None:
        tree[key] = copy.deepcopy(piece)
    assert schema_says(tree) == reader_says(tree), read_record(json.dumps(tree).encode(), "x.json").findings
