"""A rubric's file from anywhere: it is read, or every problem is told; nothing else happens."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st

from unfasten.evidence.fields import InvalidFileError
from unfasten.rules.rubric import Rubric
from unfasten.rules.rubricread import rubric_of

GOOD = (Path(__file__).parents[2] / "examples" / "rubrics" / "bench-day.yaml").read_bytes()
VALUES = [None, True, 0, -1, 1e300, "", "met", "leave-out", [], {}, [[]], {"at_most": 1}, "eu-2023-1670", "9" * 50]
KEYS = ["figure", "of", "rules", "weight", "bands", "if_absent", "id", "title", "at_most", "at_least", "is", "percent"]


def read(data: bytes) -> Rubric | None:
    """The rubric; None if it was refused with its problems."""
    try:
        return rubric_of(data, "mine.yaml")
    except InvalidFileError as error:
        problems = error.problems
    assert problems
    assert all(problem.message and problem.remedy for problem in problems)
    return None


@pytest.mark.parametrize(
    "data",
    [
        b"",
        b"\xff\xfe",
        b"null",
        b"[1, 2",
        b"a: &a [*a]",
        b"criteria: 5",
        b"criteria: [1, null, []]",
        b"format: unfasten-rubric/1\nid: a\ntitle: b\ncriteria: [{bands: [{}]}]",
        b"criteria: [{figure: verdict, rules: fr-2020-1757, of: x, bands: [{is: {}, percent: 1}]}]",
        b"criteria: [{figure: score, rules: 5, of: S_DD}]",
        b"{" * 60 + b"}" * 60,
        b"criteria: [" + b"{id: a}," * 5000 + b"]",
    ],
)
def test_broken_files_are_refused_with_their_problems(data: bytes) -> None:
    assert read(data) is None


@settings(max_examples=300, deadline=None)
@given(st.data())
def test_a_good_file_with_something_changed_is_read_or_refused(data: st.DataObject) -> None:
    tree: dict[str, Any] = yaml.safe_load(GOOD)
    for _ in range(data.draw(st.integers(1, 3))):
        mark = data.draw(st.sampled_from(tree["criteria"]))
        bands = mark.get("bands")
        body = (
            data.draw(st.sampled_from(bands))
            if isinstance(bands, list) and bands and data.draw(st.booleans())
            else mark
        )
        if isinstance(body, dict):
            body[data.draw(st.sampled_from(KEYS))] = data.draw(st.sampled_from(VALUES))
    rubric = read(yaml.safe_dump(tree).encode())
    if rubric is not None:
        assert all(mark.weight > 0 and mark.bands[-1].is_rest for mark in rubric.marks)


@settings(max_examples=200, deadline=None)
@given(st.binary(max_size=200))
def test_any_bytes(data: bytes) -> None:
    assert read(data) is None
