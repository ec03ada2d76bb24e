"""The bench without a page: lines kept once, withdrawn, mended, answered; photos placed; what is expected."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any
from uuid import UUID, uuid4

import pytest

from unfasten.evidence.errors import CallError, DataError
from unfasten.service.bench.begin import begin_record
from unfasten.service.bench.bench import Bench, Taken
from unfasten.service.bench.expected import changes, expected_lines
from unfasten.service.bench.lines import Sent
from unfasten.service.bench.look import look_at_part
from unfasten.service.bench.photos import clock_seconds, clock_text, entry_shown, fresh_ids
from unfasten.service.load import load_record
from unfasten.store.memory import MemoryStore

NOW = datetime(2026, 6, 1, 9, 0, tzinfo=UTC)
DAY = date(2026, 6, 1)
NEW = {
    "id": "slab",
    "name": "Slab",
    "maker": "Fellwright",
    "category": "slate-tablet",
    "frame": "frame",
    "survey": "partial",
}
SHA = "a" * 64


@pytest.fixture
def store() -> MemoryStore:
    made = MemoryStore()
    begin_record(made, NEW, at=NOW, by="anna")
    return made


@pytest.fixture
def bench(store: MemoryStore) -> Bench:
    return Bench(store, "slab", DAY)


def take(bench: Bench, line: str, by: str = "anna", **more: Any) -> Taken:
    sent = {"id": uuid4(), "line": line, "at": NOW, "seen": bench.seq, **more}
    return bench.take(Sent(**sent), by)


def log(bench: Bench) -> list[dict[str, Any]]:
    return [dict(entry) for entry in bench.tree().get("log", ())]


def test_the_same_line_sent_again_adds_nothing(bench: Bench) -> None:
    line = uuid4()
    first = take(bench, "2 hex-3 holds cover frame", id=line)
    seq = bench.seq
    again = take(bench, "2 hex-3 holds cover frame", id=line)
    assert (first.new, again.new) == (True, False)
    assert again.seq == first.seq
    assert bench.seq == seq
    assert len(log(bench)) == 1


def test_a_line_that_is_not_understood_is_kept_as_a_note_that_says_so(bench: Bench) -> None:
    taken = take(bench, "frobnicate the tape", clock="0:01:00")
    assert not taken.ok
    assert log(bench) == [{"at": "0:01:00", "do": "note", "text": "not understood, kept as typed: frobnicate the tape"}]


def test_undo_withdraws_the_whole_last_line_and_undoing_the_undo_brings_it_back(bench: Bench) -> None:
    take(bench, "note first")
    take(bench, "2 hex-3 holds cover frame")
    undone = take(bench, "undo")
    assert [entry["do"] for entry in log(bench)] == ["note"]
    assert "cover" not in bench.tree()["parts"]
    assert [row.state for row in bench.rows()][-2:] == ["withdrawn", ""]
    take(bench, f"undo {undone.seq}")
    assert [entry["do"] for entry in log(bench)] == ["note", "release"]
    take(bench, "undo")
    take(bench, "undo")
    assert log(bench) == []


def test_undo_of_nothing_says_so(bench: Bench) -> None:
    with pytest.raises(CallError, match="nothing left to withdraw"):
        take(bench, "undo")
    with pytest.raises(CallError, match="no line 99"):
        take(bench, "undo 99")


def test_a_mended_line_takes_the_place_of_the_old_in_the_log(bench: Bench) -> None:
    line = uuid4()
    take(bench, "2 hex-3 holds cover frame", id=line)
    take(bench, "lift cover")
    take(bench, "3 hex-3 holds cover frame", mends=line)
    assert [entry["do"] for entry in log(bench)] == ["release", "lift"]
    assert bench.tree()["joints"]["cover-screws"]["count"] == 3
    assert [row.state for row in bench.rows() if row.text][:1] == ["mended"]


def test_two_edits_of_one_object_are_both_kept_and_the_later_author_is_told(store: MemoryStore, bench: Bench) -> None:
    take(bench, "part cover")
    other = Bench(store, "slab", DAY)
    seen = other.seq
    take(bench, "part cover mass 12 g")
    later = take(other, "part cover mass 13 g", by="bert", seen=seen)
    assert later.clash is not None
    assert "anna had changed parts.cover" in later.clash
    assert [row.words for row in bench.rows()][-1:] != []
    assert bench.refresh() == other.seq
    assert bench.tree()["parts"]["cover"]["mass"] == "13 g"
    texts = [row.text for row in bench.rows()]
    assert {"part cover mass 12 g", "part cover mass 13 g"} <= set(texts)
    assert take(other, "part cover mass 14 g", by="bert").clash is None
    again = take(other, "part cover mass 13 g", by="bert", seen=seen, id=UUID(later.id))
    assert (again.new, again.clash) == (False, later.clash)


def test_a_fact_that_cannot_be_entered_is_kept_as_a_note(bench: Bench) -> None:
    taken = take(bench, "product.id=other")
    assert not taken.ok
    assert log(bench)[-1]["text"] == "not understood, kept as typed: product.id=other"
    assert bench.tree()["product"]["id"] == "slab"


def test_only_who_may_issue_changes_the_sheet(bench: Bench) -> None:
    sent = Sent(uuid4(), "sheet.state=final", NOW)
    seq = bench.seq
    with pytest.raises(CallError, match="only a publisher"):
        bench.take(sent, "anna", may_issue=False)
    assert bench.seq == seq
    assert bench.take(sent, "anna", may_issue=True).ok
    assert bench.tree()["sheet"]["state"] == "final"


def test_the_mark_says_how_long_it_took(bench: Bench) -> None:
    take(bench, "2 hex-3 holds cover frame", took=12.4, clock="0:02:00")
    take(bench, "lift cover took 3 s", took=9.0)
    take(bench, "note a remark", took=5.0)
    assert [entry.get("took") for entry in log(bench)] == ["12 s", "3 s", None]


def test_answers_follow_and_the_state_is_in_them(bench: Bench) -> None:
    for line in ("part cover role back-cover", "4 hex-3 holds cover frame each 5 s side back", "lift cover"):
        take(bench, line)
    found = bench.answers()
    assert found.record is not None
    assert (found.present.out, found.present.inside) == (("cover",), ("frame",))
    assert (found.present.tools, found.present.side) == (("hex-3",), "back")
    assert found.reaches["cover"].steps_low == found.reaches["cover"].steps_high == 1
    assert bench.answers() is found


def test_a_route_is_shown_with_its_cautions_and_a_swollen_battery_stops_it(bench: Bench) -> None:
    take(bench, "part battery role battery")
    take(bench, "pick adhesive holds battery frame heat pad 60 s time 40 s")
    shown = look_at_part(bench.answers(), "battery")
    assert shown["route"]
    assert shown["stop"] is None
    assert any("Lithium" in words for words in shown["cautions"])
    assert "Local rules" in shown["defer"]
    take(bench, "parts.battery.battery.condition=swollen")
    stopped = look_at_part(bench.answers(), "battery")
    assert stopped["stop"]
    assert (stopped["route"], stopped["cautions"]) == ([], [])


def test_a_sheet_that_is_no_record_yet_says_what_is_missing(bench: Bench) -> None:
    take(bench, "2 hex-3 holds cover frame")
    take(bench, "drop part cover")
    found = bench.answers()
    assert found.record is None
    assert any("cover" in finding.message for finding in found.findings)
    assert found.present.undone == 1


def test_answering_the_question_narrows_and_not_sure_passes_it_over(root: Path) -> None:
    store = MemoryStore()
    tree = load_record(root / "examples" / "tarn-11.yaml").model_dump(mode="json", by_alias=True, exclude_unset=True)
    store.put_record(tree, entry=uuid4(), at=NOW)
    bench = Bench(store, "tarn-11", DAY)
    first = bench.with_questions(bench.answers()).questions
    assert first
    take(bench, "unsure")
    second = bench.with_questions(bench.answers()).questions
    assert second
    assert first[0].key not in {one.key for one in second}
    before = bench.answers().assessment
    for _ in range(12):
        asked = bench.with_questions(bench.answers()).questions
        if not asked:
            break
        take(bench, "yes")
        assert log(bench)[-1]["clear_of"] == [asked[0].cover.cover]
    after = bench.answers().assessment
    assert before is not None
    assert after is not None
    assert before.points is not None
    assert after.points is not None
    assert after.points.width < before.points.width


def test_an_answer_without_a_question_is_refused(bench: Bench) -> None:
    with pytest.raises(CallError, match="no question is open"):
        take(bench, "yes")


# ---- photos ----------------------------------------------------------------------------------------------------------


def photo(
    bench: Bench, file: str = SHA, *, taken: datetime | None = None, clock: str | None = None, ahead: float = 0.0
) -> Any:
    value = {"file": file, "width": 640, "height": 480, **({"taken": taken.isoformat()} if taken else {})}
    return bench.add_photo(Sent(uuid4(), "", NOW, clock), "anna", value, ahead)


def test_a_photo_is_tied_to_the_entry_at_whose_time_it_was_taken(bench: Bench) -> None:
    take(bench, "clock 0:10:00")
    take(bench, "2 hex-3 holds cover frame", clock="0:10:30")
    take(bench, "lift cover", clock="0:11:00")
    told = photo(bench, taken=NOW + timedelta(seconds=33))
    assert (told["id"], told["at"], told["entry"]) == ("p-001", "0:10:33", 0)
    assert log(bench)[0]["photo"] == "p-001"
    late = photo(bench, "b" * 64, taken=NOW + timedelta(seconds=3665), ahead=3600)
    assert (late["at"], late["entry"]) == ("0:11:05", 1)
    assert [entry["do"] for entry in log(bench)] == ["release", "lift"]


def test_the_same_photo_is_put_once(bench: Bench) -> None:
    assert photo(bench)["new"] is True
    assert photo(bench) == {"id": "p-001", "new": False}


def test_call_outs_are_put_as_the_record_can_hold_them(bench: Bench) -> None:
    photo(bench)
    sent = Sent(uuid4(), "", NOW, None, bench.seq)
    bench.set_call_outs(sent, "anna", "p-001", {"A": {"shape": "box", "corners": [[1, 2], [30, 40]]}})
    assert bench.tree()["photos"]["p-001"]["call_outs"]["A"]["shape"] == "box"
    for wrong in ({"A": {"shape": "box", "corners": [[1, 2]]}}, {"A": {"shape": "star", "corners": [[1, 2]]}}):
        with pytest.raises(DataError):
            bench.set_call_outs(Sent(uuid4(), "", NOW), "anna", "p-001", wrong)
    with pytest.raises(DataError, match="no such photo"):
        bench.set_call_outs(Sent(uuid4(), "", NOW), "anna", "p-009", {})


@pytest.mark.parametrize(
    ("film", "shown"), [("0:00:50", 0), ("0:01:05", 0), ("0:02:40", 1), ("0:09:00", None), ("0:04:58", 2)]
)
def test_which_entry_a_photo_shows(film: str, shown: int | None) -> None:
    entries = [{"at": "0:01:00"}, {"at": "0:02:30"}, {"at": "0:05:00"}]
    assert entry_shown(entries, film) == shown


def test_the_film_s_clock_is_read_and_written() -> None:
    assert clock_seconds("1:02:03") == 3723
    assert clock_text(3723.9) == "1:02:03"
    assert fresh_ids({"p-001": {}, "p-002": {}}, "p", 2) == ["p-003", "p-004"]


# ---- the predecessor -------------------------------------------------------------------------------------------------


@pytest.fixture
def pair(root: Path) -> Iterator[tuple[dict[str, Any], dict[str, Any]]]:
    trees = [
        load_record(root / "examples" / f"{name}.yaml").model_dump(mode="json", by_alias=True, exclude_unset=True)
        for name in ("tarn-9", "tarn-11")
    ]
    return trees[0], trees[1]


def test_what_is_expected_is_the_predecessors_next_entry(pair: tuple[dict[str, Any], dict[str, Any]]) -> None:
    before, _ = pair
    first = expected_lines({"log": []}, before)
    doing = [entry for entry in before["log"] if entry["do"] in ("release", "lift", "swing")]
    assert len(first) == 5
    name = doing[0].get("joint") or doing[0].get("part") or doing[0].get("swing")
    assert first[0].line.split()[1] == name
    second = expected_lines({"log": doing[:1]}, before)
    assert second[0] == first[1]
    assert expected_lines({"log": before["log"]}, before) == []


def test_what_can_no_longer_come_is_not_expected_but_told() -> None:
    before = {
        "parts": {"cover": {}, "frame": {"stays": True}, "camera": {}, "bracket": {}},
        "joints": {
            "cover-screws": {"kind": "screw", "holds": ["cover", "frame"], "ways": [{}]},
            "bracket-screws": {"kind": "screw", "holds": ["bracket", "camera"], "ways": [{}]},
        },
        "log": [
            {"do": "release", "joint": "cover-screws", "way": 0},
            {"do": "lift", "part": "cover"},
            {"do": "release", "joint": "bracket-screws", "way": 0},
            {"do": "lift", "part": "bracket"},
        ],
    }
    tree: dict[str, Any] = {
        "parts": before["parts"],
        "bundles": {"stack": {"parts": ["camera", "bracket"]}},
        "log": [{"do": "lift", "part": "cover"}, {"do": "lift", "bundle": "stack"}],
    }
    # what is between camera and bracket may still come, and each alone: the two came out in one
    assert [one.line for one in expected_lines(tree, before)] == ["release bracket-screws", "lift bracket"]
    assert {change.place: change.what for change in changes(tree, before)} == {
        "bundles.stack": "new",
        "joints.cover-screws": "not met: cover came out without it",
    }


def test_expected_lines_are_understood_on_an_empty_sheet(pair: tuple[dict[str, Any], dict[str, Any]]) -> None:
    before, _ = pair
    store = MemoryStore()
    store.put_record(before, entry=uuid4(), at=NOW)
    begin_record(store, {**NEW, "predecessor": "tarn-9"}, at=NOW, by=None)
    bench = Bench(store, "slab", DAY)
    for _ in range(200):
        expected = expected_lines(bench.tree(), bench.before())
        if not expected:
            break
        assert take(bench, expected[0].line).ok, expected[0].line
    done = [entry for entry in before["log"] if entry["do"] in ("release", "lift", "swing")]
    assert len(log(bench)) == len(done)
    found = bench.answers()
    assert found.record is not None
    assert list(changes(bench.tree(), before)) == []


def test_changes_name_what_differs_and_what_is_new(pair: tuple[dict[str, Any], dict[str, Any]]) -> None:
    before, after = pair
    found = {change.place: change.what for change in changes(after, before)}
    assert found["parts.near-field-coil"] == "new"
    assert "pairing" not in found.get("parts.back-cover", "")
    assert "parts.frame" not in found or "mass" in found["parts.frame"]
