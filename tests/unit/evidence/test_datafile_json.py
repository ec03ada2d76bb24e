"""JSON is read strictly too, with the lines of its nodes, and is told from YAML by name or first characters."""

from __future__ import annotations

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from unfasten.evidence.datafile import read_data
from unfasten.evidence.tree import DEPTH_LIMIT

REFUSED = [
    ('{"a": 1, "a": 2}', "data.repeated-key", 1),
    ('{"a": 1,\n "b": {"c": 1,\n "c": 2}}', "data.repeated-key", 3),
    ('{"a": NaN}', "data.json-syntax", 1),
    ('{"a": -Infinity}', "data.json-syntax", 1),
    ('{"a": 1e999}', "data.not-finite", 1),
    ('{"a": 123456789012345678901}', "data.number-too-long", 1),
    ('{"a": 012}', "data.json-syntax", 1),
    ('{"a": 1.}', "data.json-syntax", 1),
    ('{"a": tru}', "data.json-syntax", 1),
    ('{"a": 1,}', "data.json-syntax", 1),
    ('{"a": [1, 2,]}', "data.json-syntax", 1),
    ('{"a": [1 2]}', "data.json-syntax", 1),
    ('{"a" 1}', "data.json-syntax", 1),
    ("{a: 1}", "data.json-syntax", 1),
    ("{'a': 1}", "data.json-syntax", 1),
    ('{"a": 1} {"b": 2}', "data.json-syntax", 1),
    ('{"a": "x', "data.json-syntax", 1),
    ('{"a": "x\ny"}', "data.json-syntax", 1),
    ('{"a": "\\x"}', "data.json-syntax", 1),
    ('{"a": "\\ud800"}', "data.control-character", 1),
    ('{"a": "\\u0000"}', "data.control-character", 1),
    ('{"a\\u001b": 1}', "data.control-character", 1),
    ("", "data.json-syntax", 1),
    ('{"a": 1', "data.json-syntax", 1),
    ('{\n"a": [1,\n', "data.json-syntax", 3),
]


@pytest.mark.parametrize(("text", "code", "line"), REFUSED, ids=[f"{c}-{i}" for i, (_, c, _) in enumerate(REFUSED)])
def test_refused(text: str, code: str, line: int) -> None:
    problem = read_data(text.encode(), "x.json").problems[0]
    assert (problem.code, problem.line) == (code, line)
    assert problem.remedy


def test_deep_nesting_is_refused_without_recursion() -> None:
    (problem,) = read_data(b"[" * 100_000, "x.json").problems
    assert problem.code == "data.too-deep"
    allowed = "[" * DEPTH_LIMIT + "]" * DEPTH_LIMIT
    assert read_data(allowed.encode(), "x.json").problems == ()


def test_nodes_know_their_lines() -> None:
    document = read_data(b'{"a": 1,\n "list": [1,\n  {"b": 2}]}', "x.json")
    assert document.value == {"a": 1, "list": [1, {"b": 2}]}
    assert document.marks[("list", 1, "b")] == (3, 4)


@pytest.mark.parametrize(
    ("text", "name", "value"),
    [
        ('{"a": 012}', "x.json", None),
        ('{"a": 012}', "x.yaml", {"a": 12}),
        ('{"a": "\\ud83d\\ude00"}', "x", {"a": "\U0001f600"}),
        ("{a: no}", "x.yaml", {"a": "no"}),
        ('\n {\t"a": null}', "", {"a": None}),
    ],
)
def test_json_is_told_from_yaml(text: str, name: str, value: object) -> None:
    assert read_data(text.encode(), name).value == value


TEXT = st.text(st.characters(exclude_categories=("Cs", "Cc", "Cn", "Co")), max_size=8)
TREES = st.recursive(
    st.none()
    | st.booleans()
    | st.integers(-(10**15), 10**15)
    | st.floats(allow_nan=False, allow_infinity=False)
    | TEXT,
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(TEXT, inner, max_size=4),
    max_leaves=12,
)


@given(tree=TREES, indent=st.sampled_from([None, 0, 3]))
def test_agrees_with_the_standard_library(tree: object, indent: int | None) -> None:
    text = json.dumps(tree, indent=indent)
    document = read_data(text.encode(), "x.json")
    assert document.problems == ()
    assert document.value == json.loads(text)


@given(text=st.text(st.sampled_from('{}[]:,"\\ \n01.-eEtrufalsn'), max_size=20))
def test_accepts_nothing_that_the_standard_library_refuses(text: str) -> None:
    document = read_data(text.encode(), "x.json")
    if not document.problems:
        assert document.value == json.loads(text)
