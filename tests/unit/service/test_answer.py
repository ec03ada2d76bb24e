"""Answers: the entry, what is refused, and that the rest of the file stays as it was."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from unfasten.evidence.errors import CallError, DataError
from unfasten.routes.opencover import OpenCover
from unfasten.service.answer import answer_entry, answer_file, question_of
from unfasten.service.load import RecordInvalid, load_record

HEAD = """\
# a small record
format: unfasten-record/1
product: {id: small, name: Small, maker: Fellwright, category: slate-tablet}
parts:
  frame: {name: Frame, stays: true}
  lid: {name: Lid}
  cell: {name: Cell}
  flap: {name: Flap, lift: {survey: partial}}
joints:
  clips: {kind: clip, holds: [lid, frame], ways: [{}]}
  plug: {kind: connector, holds: [cell, frame], ways: [{survey: partial}, {side: back}]}   # seen from above
"""
LOG = """\
log:
  # what happened
  - {do: release, joint: clips}
  - do: lift
    part: lid     # straight up
  - {do: release, joint: plug}   # the end for now

  # to be continued
"""
PLUG = OpenCover("joint", "plug", 0, "lid")


def written(tmp_path: Path, text: str, name: str = "small.yaml") -> Path:
    path = tmp_path / name
    path.write_bytes(text.encode())
    return path


@pytest.mark.parametrize(
    ("covers", "line"),
    [
        (False, "  - {do: found, joint: plug, way: 0, clear_of: [lid]}\n"),
        (True, "  - {do: found, joint: plug, way: 0, under: [lid]}\n"),
    ],
)
def test_an_answer_is_one_line_more(tmp_path: Path, covers: bool, line: str) -> None:
    path = written(tmp_path, HEAD + LOG)
    answered = answer_file(path, PLUG, covers=covers)
    assert answered.note is None
    end = "  - {do: release, joint: plug}   # the end for now\n"
    assert path.read_text("utf-8") == (HEAD + LOG).replace(end, end + line)
    assert load_record(path).log[-1] == answered.entry
    assert [p.name for p in tmp_path.iterdir()] == ["small.yaml"]


@pytest.mark.parametrize(
    ("text", "after"),
    [
        (LOG.replace("  # to be continued\n", ""), "# the end for now\n"),
        (LOG.split("   # the end")[0], "joint: plug}\n"),
        (
            "log:\n- do: release\n  joint: clips\n- {do: lift, part: lid}\n- do: release\n  joint: plug\n",
            "joint: plug\n",
        ),
        (LOG + "  - do: note\n    text: |\n      two\n      lines\nsheet: {number: N1}\n", "      lines\n"),
    ],
    ids=["at the end", "no newline at the end", "no indent", "a block of text, more keys after"],
)
def test_the_layout_stays_wherever_the_log_ends(tmp_path: Path, text: str, after: str) -> None:
    path = written(tmp_path, HEAD + text)
    assert answer_file(path, PLUG, covers=False).note is None
    new = path.read_text("utf-8")
    at = new.index("- {do: found")
    assert new[:at].rstrip(" ").endswith(after)
    lines = [line for line in new.splitlines() if "found" not in line]
    assert lines == (HEAD + text).splitlines()


def test_carriage_returns_and_a_byte_order_mark_stay(tmp_path: Path) -> None:
    path = written(tmp_path, "\ufeff" + (HEAD + LOG).replace("\n", "\r\n"))
    answer_file(path, PLUG, covers=False)
    data = path.read_bytes()
    assert data.startswith(b"\xef\xbb\xbf#")
    assert data.count(b"\n") == data.count(b"\r\n")
    assert b"clear_of: [lid]}\r\n" in data


def test_a_log_in_one_line_is_written_anew_and_says_so(tmp_path: Path) -> None:
    log = "log: [{do: release, joint: clips}, {do: lift, part: lid}, {do: release, joint: plug}]\n"
    path = written(tmp_path, HEAD + log)
    before = load_record(path)
    answered = answer_file(path, PLUG, covers=False)
    assert answered.note is not None
    assert load_record(path) == before.model_copy(update={"log": (*before.log, answered.entry)})


def test_json_stays_json(tmp_path: Path) -> None:
    record = load_record(written(tmp_path, HEAD + LOG))
    tree = record.model_dump(mode="json", by_alias=True, exclude_defaults=True) | {"format": record.format}
    path = written(tmp_path, json.dumps(tree), "small.json")
    answer_file(path, PLUG, covers=True)
    assert json.loads(path.read_text("utf-8"))["log"][-1] == {
        "do": "found",
        "joint": "plug",
        "way": 0,
        "under": ["lid"],
    }


def test_another_file_may_be_named(tmp_path: Path) -> None:
    path, out = written(tmp_path, HEAD + LOG), tmp_path / "new.yaml"
    answer_file(path, PLUG, covers=False, out=out)
    assert path.read_text("utf-8") == HEAD + LOG
    assert len(load_record(out).log) == 4
    with pytest.raises(DataError) as error:
        answer_file(path, PLUG, covers=False, out=tmp_path / "nowhere" / "new.yaml")
    assert error.value.code == "answer.cannot-write"


def test_a_lift_is_answered_with_behind(tmp_path: Path) -> None:
    record = load_record(written(tmp_path, HEAD + LOG + "  - {do: lift, part: flap}\n"))
    entry = answer_entry(record, OpenCover("part", "flap", None, "lid"), covers=True)
    assert (entry.part, entry.behind, entry.way) == ("flap", (("lid",),), None)


@pytest.mark.parametrize(
    ("question", "code", "says"),
    [
        (OpenCover("joint", "plugg", 0, "lid"), "answer.unknown-name", 'did you mean "plug"'),
        (OpenCover("joint", "plug", 0, "lit"), "answer.unknown-name", 'did you mean "lid"'),
        (OpenCover("joint", "plug", 2, "lid"), "answer.way-out-of-range", "from 0 to 1"),
        (OpenCover("joint", "plug", 1, "lid"), "answer.not-open", "survey is full"),
        (OpenCover("joint", "plug", 0, "flap"), "answer.not-open", "had not come out before"),
        (OpenCover("part", "flap", None, "lid"), "answer.not-open", "the log never reached it"),
        (OpenCover("bundle", "stack", None, "lid"), "answer.unknown-name", 'no bundle "stack"'),
    ],
)
def test_what_is_not_open_is_refused(tmp_path: Path, question: OpenCover, code: str, says: str) -> None:
    record = load_record(written(tmp_path, HEAD + LOG))
    with pytest.raises(CallError, match=says) as error:
        answer_entry(record, question, covers=True)
    assert error.value.code == code


@pytest.mark.parametrize(("first", "says"), [(True, "a cover already"), (False, "clear already")])
def test_an_answer_is_not_contradicted(tmp_path: Path, first: bool, says: str) -> None:
    path = written(tmp_path, HEAD + LOG)
    answer_file(path, PLUG, covers=first)
    before = path.read_bytes()
    with pytest.raises(CallError, match=says):
        answer_file(path, PLUG, covers=not first)
    assert path.read_bytes() == before


def test_a_record_with_errors_is_left_alone(tmp_path: Path) -> None:
    path = written(tmp_path, (HEAD + LOG).replace("holds: [cell,", "holds: [sell,"))
    with pytest.raises(RecordInvalid):
        answer_file(path, PLUG, covers=True)


def test_a_question_names_one_thing() -> None:
    assert question_of("plug", None, None, None, "lid") == PLUG
    assert question_of(None, None, "flap", None, "lid").way is None
    for call in ((None, None, None, None), ("plug", None, "flap", None)):
        with pytest.raises(CallError) as error:
            question_of(*call, "lid")
        assert error.value.code == "answer.which"
    with pytest.raises(CallError) as error:
        question_of(None, 0, "flap", None, "lid")
    assert error.value.code == "answer.way-without-joint"
