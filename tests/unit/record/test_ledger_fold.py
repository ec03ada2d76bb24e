"""The record as the fold of its ledger: what each kind of entry does, in which order, and what is traced."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import pytest

from unfasten.record.entrybody import check_body
from unfasten.record.ledger import Folder, fold

LAMP: dict[str, Any] = {
    "format": "unfasten-record/1",
    "product": {"id": "lamp", "name": "Lamp", "maker": "Fellwright", "category": "other"},
    "parts": {"stand": {"name": "Stand", "stays": True}},
    "log": [{"do": "note", "text": "from the file"}],
}


@dataclass(frozen=True)
class Line:
    """An entry of a ledger."""

    id: str
    seq: int
    kind: str
    tree: dict[str, Any]
    supersedes: str | None = None


class Book:
    """A ledger that names its entries a, b, c … in order."""

    def __init__(self) -> None:
        self.lines: list[Line] = []
        self.folder = Folder[Line]()
        self.add("put-record", LAMP)

    def add(self, kind: str, tree: dict[str, Any] | None = None, supersedes: str | None = None) -> str:
        name = chr(ord("a") + len(self.lines))
        self.lines.append(Line(name, len(self.lines) + 1, kind, tree or {}, supersedes))
        self.folder.add(self.lines[-1])
        assert self.folder.state() == fold(self.lines), "one by one is the same as all at once"
        return name

    def put(self, at: str, value: dict[str, Any], supersedes: str | None = None) -> str:
        return self.add("put", {"at": at, "value": value}, supersedes)

    def log(self, text: str, supersedes: str | None = None) -> str:
        return self.add("log", {"entry": {"do": "note", "text": text}}, supersedes)

    @property
    def tree(self) -> dict[str, Any]:
        return self.folder.state().tree

    @property
    def told(self) -> list[tuple[str, str]]:
        """Each log entry's text with the ledger entry that holds it."""
        state = self.folder.state()
        return [(e["text"], one) for e, one in zip(state.tree["log"], state.log_ids, strict=True)]


@pytest.fixture
def book() -> Book:
    """A ledger that begins with a whole record, entry a."""
    return Book()


def test_objects_are_put_and_dropped(book: Book) -> None:
    book.put("parts.bulb", {"name": "Bulb"})
    book.put("setup", {"survey": "partial"})
    assert book.tree["parts"] == {"stand": {"name": "Stand", "stays": True}, "bulb": {"name": "Bulb"}}
    assert book.tree["setup"] == {"survey": "partial"}
    book.add("drop", {"at": "parts.bulb"})
    book.add("drop", {"at": "setup"})
    assert book.tree == LAMP


def test_a_log_entry_is_traced_to_its_ledger_entry(book: Book) -> None:
    assert book.log("one") == "b"
    assert book.log("two") == "c"
    assert book.told == [("from the file", "a"), ("one", "b"), ("two", "c")]


def test_a_correction_takes_the_place_of_what_it_corrects(book: Book) -> None:
    book.log("one")
    book.log("two")
    book.log("One.", supersedes="b")
    book.log("One!", supersedes="d")
    assert book.told == [("from the file", "a"), ("One!", "e"), ("two", "c")]


def test_a_correction_does_not_reach_over_a_later_put(book: Book) -> None:
    book.put("parts.bulb", {"name": "Bulb"})
    book.put("parts.bulb", {"name": "Lamp bulb"})
    book.put("parts.bulb", {"name": "Bulp"}, supersedes="b")
    assert book.tree["parts"]["bulb"] == {"name": "Lamp bulb"}


def test_an_undo_withdraws_and_an_undone_undo_restores(book: Book) -> None:
    book.log("one")
    book.log("two")
    book.add("undo", supersedes="b")
    assert book.told == [("from the file", "a"), ("two", "c")]
    book.add("undo", supersedes="d")
    assert book.told == [("from the file", "a"), ("one", "b"), ("two", "c")]
    book.add("undo", supersedes="e")
    assert book.told == [("from the file", "a"), ("two", "c")]


def test_undoing_a_correction_brings_back_what_it_corrected(book: Book) -> None:
    book.put("parts.bulb", {"name": "Bulb"})
    book.put("parts.bulb", {"name": "Bulp"}, supersedes="b")
    book.add("undo", supersedes="c")
    assert book.tree["parts"]["bulb"] == {"name": "Bulb"}
    assert book.folder.state().origin("parts.bulb") == "b"


def test_a_whole_record_begins_anew_and_its_undo_goes_back(book: Book) -> None:
    book.log("one")
    book.add("put-record", {**LAMP, "log": []}, supersedes="a")
    book.log("two")
    assert book.told == [("two", "d")]
    book.add("undo", supersedes="b")
    assert book.told == [("two", "d")], "what stands before the whole record has no part in the present"
    book.add("undo", supersedes="e")
    book.add("undo", supersedes="c")
    assert book.told == [("from the file", "a"), ("one", "b"), ("two", "d")]


def test_other_kinds_do_not_touch_the_record(book: Book) -> None:
    book.add("audit", {"at": "parts.stand", "value": {}})
    assert book.tree == LAMP


def test_any_past_state_can_be_had(book: Book) -> None:
    book.log("one")
    book.add("undo", supersedes="b")
    assert len(fold(book.lines, upto_seq=2).tree["log"]) == 2
    assert fold(book.lines, upto_seq=1).tree == LAMP
    assert fold(book.lines, upto_seq=0).tree == {}


def test_a_draft_may_lack_everything_but_its_product() -> None:
    folder = Folder[Line]()
    folder.add(Line("a", 1, "put-record", {"product": LAMP["product"]}))
    folder.add(Line("b", 2, "put", {"at": "joints.clips", "value": {"kind": "clip"}}))
    folder.add(Line("c", 3, "drop", {"at": "tools.pick"}))
    assert folder.state().tree == {"product": LAMP["product"], "joints": {"clips": {"kind": "clip"}}}


def test_a_state_is_not_changed_by_later_entries_nor_changes_them(book: Book) -> None:
    before = book.folder.state()
    before.tree["parts"]["stand"]["name"] = "Foot"
    book.put("parts.bulb", {"name": "Bulb"})
    assert list(before.tree["parts"]) == ["stand"]
    assert book.tree["parts"]["stand"]["name"] == "Stand"
    assert book.lines[0].tree == LAMP


def test_a_gap_is_refused(book: Book) -> None:
    with pytest.raises(ValueError, match="does not follow"):
        book.folder.add(Line("x", 3, "log", {}))


@pytest.mark.parametrize(
    ("base", "unseen"),
    [("b", "c"), ("a", "c"), (None, "c"), ("c", None)],
    ids=["an older put", "the whole record", "nothing", "the last put"],
)
def test_what_the_author_of_a_put_had_not_seen_is_told(book: Book, base: str | None, unseen: str | None) -> None:
    book.put("parts.bulb", {"name": "Bulb"})
    book.put("parts.bulb", {"name": "Lamp bulb"})
    assert book.folder.unseen("put", {"at": "parts.bulb", "value": {}, "base": base}, None) == unseen


def test_seen_objects_raise_no_alarm(book: Book) -> None:
    unseen = book.folder.unseen
    assert unseen("put", {"at": "parts.stand", "value": {}, "base": "a"}, None) is None
    assert unseen("put", {"at": "parts.bulb", "value": {}, "base": None}, None) is None
    assert unseen("put", {"at": "parts.stand", "value": {}, "base": None}, None) == "a"
    assert unseen("put", {"at": "parts.stand", "value": {}}, None) is None, "who names no base does not ask"
    book.add("drop", {"at": "parts.stand"})
    assert unseen("put", {"at": "parts.stand", "value": {}, "base": "a"}, None) == "b"
    assert unseen("put", {"at": "parts.stand", "value": {}, "base": None}, None) is None


def test_two_corrections_or_undos_of_one_entry_are_told(book: Book) -> None:
    unseen = book.folder.unseen
    book.log("one")
    body = {"entry": {"do": "note", "text": "uno"}}
    assert unseen("log", body, "b") is None
    book.log("One", supersedes="b")
    assert unseen("log", body, "b") == "c"
    assert unseen("undo", {}, "b") == "c"
    assert unseen("undo", {}, "c") is None
    book.add("undo", supersedes="c")
    assert unseen("undo", {}, "c") == "d"
    assert unseen("log", body, "b") is None
    book.add("put-record", LAMP, supersedes="a")
    assert unseen("log", body, "b") == "e", "the whole record put since then holds"


@pytest.mark.parametrize(
    ("kind", "body", "codes"),
    [
        ("put", {"at": "parts.stand", "value": {}}, []),
        ("put", {"at": "sheet", "value": {}, "base": None}, []),
        ("put", {}, ["ledger.bad-body"]),
        ("put", {"at": "parts.stand", "value": 3, "by": "ada", "base": 1}, ["ledger.bad-body"] * 3),
        ("put", {"at": "product", "value": {"id": "kettle"}}, ["ledger.other-product"]),
        ("drop", {"at": "product"}, ["ledger.other-product"]),
        ("drop", {"at": "log.3"}, ["ledger.bad-place"]),
        ("drop", {"at": "parts"}, ["ledger.bad-place"]),
        ("drop", {"at": "parts.Stand"}, ["ledger.bad-place"]),
        ("drop", {"at": "parts.stand\n"}, ["ledger.bad-place"]),
        ("drop", {"at": ["parts"]}, ["ledger.bad-place"]),
        ("log", {"entry": "loose"}, ["ledger.bad-body"]),
        ("undo", {"at": "x"}, ["ledger.bad-body"]),
        ("put-record", {}, ["ledger.other-product"]),
        ("put-record", {**LAMP, "parts": [], "log": {}}, ["ledger.bad-body"] * 2),
        ("audit", {"anything": 1}, []),
    ],
)
def test_what_is_wrong_with_a_body_is_told(kind: str, body: dict[str, Any], codes: list[str]) -> None:
    assert [error.code for error in check_body("lamp", kind, body, "entry 1")] == codes
