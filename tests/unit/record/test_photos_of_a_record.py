"""Photos and their call-outs in a record: kept as they are, and what does not fit is told with its place."""

from __future__ import annotations

from copy import deepcopy
from typing import Any

import pytest

from unfasten.record.read import read_record, read_tree
from unfasten.record.write import to_yaml

TREE: dict[str, Any] = {
    "format": "unfasten-record/1",
    "product": {"id": "lamp", "name": "Lamp", "maker": "Fellwright", "category": "other"},
    "parts": {"stand": {"name": "Stand", "stays": True}, "bulb": {"name": "Bulb"}},
    "joints": {"thread": {"kind": "screw", "holds": ["bulb", "stand"], "ways": [{}]}},
    "photos": {
        "p-001": {
            "file": "ab" * 32,
            "name": "IMG 1.jpg",
            "width": 8000,
            "height": 6000,
            "taken": "2026-04-01T10:02:03",
            "at": "0:01:40",
            "call_outs": {
                "A": {"shape": "point", "corners": [[4000, 3000]], "about": "joints.thread"},
                "B": {"shape": "box", "corners": [[0, 0], [10, 20]], "text": "scratched"},
                "C": {"shape": "outline", "corners": [[0, 0], [10, 0], [10, 10]], "about": "parts.bulb"},
            },
        }
    },
    "log": [{"do": "note", "text": "bright", "photo": "p-001"}],
}


def test_photos_come_back_from_a_file_as_they_were_written() -> None:
    record = read_tree(TREE).record
    assert record is not None
    again = read_record(to_yaml(record).encode(), "lamp.yaml")
    assert again.record == record
    assert record.photos["p-001"].call_outs["B"].corners == ((0, 0), (10, 20))


@pytest.mark.parametrize(
    ("call_outs", "at", "code"),
    [
        ({"A": {"shape": "box", "corners": [[1, 1]]}}, "corners", "record.wrong-length"),
        ({"A": {"shape": "point", "corners": [[1, 1], [2, 2]]}}, "corners", "record.wrong-length"),
        ({"A": {"shape": "point", "corners": []}}, "corners", "record.wrong-length"),
        ({"A": {"shape": "point", "corners": [[1, -1]]}}, "corners[0][1]", "record.out-of-range"),
        ({"A": {"shape": "point", "corners": [[1.5, 1]]}}, "corners[0][0]", "record.wrong-type"),
        ({"A": {"shape": "star", "corners": [[1, 1]]}}, "shape", "record.bad-value"),
        ({"A": {"shape": "point", "corners": [[1, 1]], "about": "joints.glue"}}, "about", "record.unknown-name"),
        ({"A": {"shape": "point", "corners": [[1, 1]], "about": "log.0"}}, "about", "record.unknown-name"),
    ],
)
def test_a_call_out_that_does_not_fit_is_told(call_outs: Any, at: str, code: str) -> None:
    tree = deepcopy(TREE)
    tree["photos"]["p-001"]["call_outs"] = call_outs
    told = {(finding.at, finding.code) for finding in read_tree(tree).findings}
    assert told == {(f"photos.p-001.call_outs.A.{at}", code)}


def test_a_letter_is_a_capital() -> None:
    tree = deepcopy(TREE)
    tree["photos"]["p-001"]["call_outs"] = {"a1": {"shape": "point", "corners": [[1, 1]]}}
    assert [finding.code for finding in read_tree(tree).findings] == ["record.bad-value"]
