"""The entry line: short trade input is understood, said back, completed, and written so that it reads back the same."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from support.typist import Typist
from unfasten.record.read import read_tree
from unfasten.routes.solve import solve
from unfasten.service.line.complete import complete
from unfasten.service.line.read import read_line
from unfasten.service.line.write import joint_line, part_line
from unfasten.service.load import load_record

SHEET: dict[str, Any] = {
    "parts": {
        "frame": {"name": "Midframe", "stays": True},
        "back-cover": {"name": "Back cover"},
        "front-camera": {"name": "Front camera"},
        "front-camera-bracket": {"name": "Front camera bracket"},
        "tape": {"name": "Tape"},
    },
    "tools": {"hex-3": {"name": "Hexalobular driver 3", "kind": "screwdriver-hexalobular", "class": "basic"}},
    "joints": {"back-clips": {"kind": "clip", "holds": ["back-cover", "frame"], "ways": [{"tools": ["pick"]}]}},
}
#: seconds of a key for a practised typist: Card, Moran and Newell, keystroke-level model, 1980 (value from memory)
KEY_S = 0.2


def tree_of(path: Path) -> dict[str, Any]:
    tree: dict[str, Any] = load_record(path).model_dump(mode="json", by_alias=True, exclude_unset=True)
    return tree


def put(line: str, place: str, tree: dict[str, Any] | None = None) -> Any:
    reading = read_line(line, SHEET if tree is None else tree)
    assert reading.problems == ()
    return next(piece.body["value"] for piece in reading.pieces if piece.body.get("at") == place)


def test_a_joint_line_puts_joint_and_parts_and_logs_the_release() -> None:
    reading = read_line("2 hex-3 holds back-cover frame edge", SHEET, at="0:01:05")
    assert [piece.kind for piece in reading.pieces] == ["put", "log"]
    joint = reading.pieces[0].body
    assert joint["at"] == "joints.back-cover-screws"
    assert joint["value"] == {
        "kind": "screw",
        "count": 2,
        "holds": ["back-cover", "frame"],
        "where": "edge",
        "ways": [{"tools": ["hex-3"]}],
    }
    entry = reading.pieces[1].body["entry"]
    assert entry == {"at": "0:01:05", "do": "release", "joint": "back-cover-screws", "way": 0}
    assert (
        reading.words
        == "Undone: 2 × screw (back-cover-screws) that holds Back cover and Midframe, with hex-3; place: edge"
    )


def test_on_an_empty_sheet_a_line_brings_its_parts_and_tools() -> None:
    reading = read_line("2 hex-3 holds back-cover frame edge", {"parts": {}})
    assert reading.problems == ()
    assert reading.new == ("tool hex-3", "part back-cover", "part frame", "joint back-cover-screws")
    frame = next(p.body["value"] for p in reading.pieces if p.body.get("at") == "parts.frame")
    assert frame["stays"] is True


def test_preparations_other_ways_and_covers() -> None:
    first = "pick adhesive holds back-cover frame heat pad 120s time 95 s under tape/front-camera"
    line = f"{first} or cup+pick each 3s as glue"
    assert put(line, "joints.glue")["ways"] == [
        {
            "tools": ["pick"],
            "prepare": [{"do": "heat", "tools": ["pad"], "time": "120 s"}],
            "time": "95 s",
            "under": [["tape", "front-camera"]],
        },
        {"tools": ["cup", "pick"], "time": "3 s each"},
    ]


def test_what_is_clear_may_be_all_that_is_off_but_some() -> None:
    tree = {**SHEET, "log": [{"do": "lift", "part": "tape"}, {"do": "lift", "part": "front-camera-bracket"}]}
    way = put("hex-3 holds front-camera frame partial clear rest but tape", "joints.front-camera-screws", tree)["ways"][
        0
    ]
    assert way["clear_of"] == ["front-camera-bracket"]


def test_a_beginning_stands_for_the_one_name_that_fits_and_no_other() -> None:
    assert put("hex-3 holds back frame", "joints.back-cover-screws")["holds"] == ["back-cover", "frame"]
    reading = read_line("hex-3 holds front frame", SHEET)
    assert "may be front-camera, front-camera-bracket" in reading.problems[0].message
    assert reading.pieces == ()


@pytest.mark.parametrize(
    ("line", "at", "message"),
    [
        ("hex-3 holds bakc-cover frame", (12, 22), "no part 'bakc-cover'"),
        ("hex-3 holds back-cover frame under shild", (35, 40), "no part 'shild'"),
        ("frobnicate", (0, 10), "'frobnicate' begins no entry"),
        ("hex-3 holds back-cover frame time 5", (29, 33), "'5' is no time"),
        ("release back-clips way 3", (8, 18), "back-clips has no way 3"),
        ("part x role knob", (12, 16), "'knob' is no role"),
        ("clock noon", (6, 10), "no time of the film"),
        ("zap-7 screw holds back-cover frame", (0, 5), "no tool 'zap-7'"),
        ("2 zap-7 screw holds back-cover frame", (2, 7), "no tool 'zap-7'"),
    ],
)
def test_a_problem_says_where_and_what_to_write(line: str, at: tuple[int, int], message: str) -> None:
    reading = read_line(line, SHEET)
    assert not reading.ok
    found = next(one for one in reading.problems if message in one.message)
    assert (found.start, found.end) == at
    assert found.remedy


def test_all_problems_of_a_line_come_at_once() -> None:
    reading = read_line("zap+pick clip holds bakc-cover frame under shild reuse always", SHEET)
    told = " ".join(
        one.message for one in read_line("2 zap clip holds bakc-cover frame under shild reuse always", SHEET).problems
    )
    assert all(word in told for word in ("zap", "bakc-cover", "shild", "always"))
    assert not reading.ok


def test_what_is_undone_already_is_not_undone_again() -> None:
    tree = {**SHEET, "log": [{"do": "release", "joint": "back-clips", "way": 0}]}
    assert "undone already" in read_line("release back-clips", tree).problems[0].message


def test_commands_are_for_the_page() -> None:
    assert read_line("undo 12", SHEET).command == ("undo", "12")
    assert read_line("clock 0:12:30", SHEET).command == ("clock", "0:12:30")
    assert read_line("yes", SHEET).command == ("answer", "yes")


def test_one_fact_is_set_by_its_place() -> None:
    assert put("joints.back-clips.reuse=reusable", "joints.back-clips")["reuse"] == "reusable"
    assert 'no "back-clip"' in read_line("joints.back-clip.reuse=reusable", SHEET).problems[0].message


@pytest.mark.parametrize(
    ("line", "first"),
    [
        ("re", "release"),
        ("release ba", "back-clips"),
        ("2 hex-3 ho", "holds"),
        ("2 hex-3 holds ta", "tape"),
        ("2 hex-3 holds cam", "front-camera"),
        ("2 hex-3 holds tape frame un", "under"),
        ("2 hex-3 holds tape frame under tape/ba", "tape/back-cover"),
        ("2 hex-3 holds tape frame reuse re", "reusable"),
        ("part tape role ba", "battery"),
    ],
)
def test_completion_offers_what_may_stand_there(line: str, first: str) -> None:
    assert complete(line, len(line), SHEET)[0] == first


def test_the_predecessor_is_taken_over_as_a_hypothesis() -> None:
    before = {
        "parts": {"shield": {"name": "Shield"}, "board": {"name": "Board"}},
        "tools": {"key": {"name": "Key", "class": "proprietary"}},
        "joints": {
            "shield-screws": {
                "kind": "screw",
                "holds": ["shield", "board"],
                "count": 3,
                "ways": [{"tools": ["key"], "under": ["board"], "survey": "full", "clear_of": ["board"]}],
            }
        },
    }
    reading = read_line("release shield-screws", {"parts": {}}, before)
    assert reading.problems == ()
    assert set(reading.new) == {"joint shield-screws", "part shield", "part board", "tool key"}
    way = next(p.body["value"] for p in reading.pieces if p.body.get("at") == "joints.shield-screws")["ways"][0]
    assert way == {"tools": ["key"], "under": ["board"], "survey": "partial"}


@pytest.mark.parametrize("name", ["tarn-9", "tarn-11", "tarn-11-plus"])
def test_every_joint_and_part_is_written_so_that_it_reads_back_the_same(root: Path, name: str) -> None:
    tree = tree_of(root / "examples" / f"{name}.yaml")
    said = {"holes", "components", "battery", "cable"}
    for joint, value in tree["joints"].items():
        read = put(joint_line(joint, value), f"joints.{joint}", {**tree, "joints": {}, "log": []})
        assert {**read, "count": read.get("count", 1)} == {**value, "count": value.get("count", 1)}
    for part, value in tree["parts"].items():
        plain = {
            key: one for key, one in value.items() if key in ("name", "role", "stays", "mass", "size", "lift", "note")
        }
        read = put(
            part_line(part, value),
            f"parts.{part}",
            {**tree, "parts": {k: v for k, v in tree["parts"].items() if k != part}},
        )
        assert {key: read.get(key) for key in plain} == plain
        assert not said & set(read)


def test_the_log_of_the_tarn_11_is_typed_from_an_empty_sheet_in_less_time_than_it_took(root: Path) -> None:
    source = tree_of(root / "examples" / "tarn-11.yaml")
    typist, keys = Typist(source), 0
    for line, at in typist.lines():
        keys += typist.keys(line)
        assert typist.take(line, at).problems == (), line
    record = read_tree(typist.tree).record
    assert record is not None
    assert set(typist.tree["parts"]) == set(source["parts"])
    assert set(typist.tree["joints"]) == set(source["joints"])
    done = [(e["do"], e.get("joint") or e.get("part") or e.get("bundle") or e.get("swing")) for e in typist.tree["log"]]
    assert done == [
        (e["do"], e.get("joint") or e.get("part") or e.get("bundle") or e.get("swing")) for e in source["log"]
    ]
    hours, minutes, seconds = source["log"][-1]["at"].split(":")
    pauses = sum(float(e["took"].split()[0]) for e in source["log"] if e["do"] == "pause")
    assert keys * KEY_S < int(hours) * 3600 + int(minutes) * 60 + int(seconds) - pauses
    battery = solve(record, ["battery"])["battery"]
    assert (battery.steps_low, battery.steps_high) == (8, 11)


@pytest.mark.parametrize(
    ("said", "kind"),
    [("glue", "adhesive"), ("plugs", "connector"), ("2 latches", "clip"), ("snap", "clip"), ("seat", "press-fit")],
)
def test_a_kind_may_be_named_as_it_is_said_at_the_bench(said: str, kind: str) -> None:
    reading = read_line(f"{said} holds tape frame", SHEET)
    assert reading.problems == ()
    assert reading.pieces[0].body["value"]["kind"] == kind
    assert kind in reading.words
