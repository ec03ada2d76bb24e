"""The ledger under every store: sets of entries, folded state, corrections, clashes."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime, timedelta
from typing import Any
from uuid import UUID, uuid4

import pytest

from unfasten.evidence.errors import DataError
from unfasten.record.ledger import fold
from unfasten.store.accept import EntriesInvalid
from unfasten.store.contract import Store
from unfasten.store.entry import Draft, draft_of

NOW = datetime(2026, 4, 1, 9, 0, tzinfo=UTC)
LAMP: dict[str, Any] = {
    "format": "unfasten-record/1",
    "product": {"id": "lamp", "name": "Lamp", "maker": "Fellwright", "category": "other"},
    "parts": {"stand": {"name": "Stand", "stays": True}},
}


def begin(store: Store) -> str:
    """Put the lamp and give the entry's id."""
    return store.put_record(LAMP, entry=uuid4(), at=NOW).id


def put(name: str, at: str = "parts.bulb", by: str = "ada", **more: Any) -> Draft:
    """A draft that puts an object of that name."""
    supersedes = more.pop("supersedes", None)
    body = {"at": at, "value": {"name": name}, **more}
    return draft_of("lamp", "put", body, entry=uuid4(), at=NOW, by=by, supersedes=supersedes and UUID(supersedes))


def log(text: str, entry: UUID | None = None) -> Draft:
    """A draft that adds a note to the record's log."""
    return draft_of("lamp", "log", {"entry": {"do": "note", "text": text}}, entry=entry or uuid4(), at=NOW)


def undo(entry: str) -> Draft:
    """A draft that withdraws an entry."""
    return draft_of("lamp", "undo", {}, entry=uuid4(), at=NOW, supersedes=UUID(entry))


def test_a_set_of_entries_is_folded_and_traced(store: Store) -> None:
    begin(store)
    kept = store.append(put("Bulb"), log("one"), log("two"))
    assert [one.entry.seq for one in kept] == [2, 3, 4]
    state = store.state("lamp")
    assert state.tree["parts"]["bulb"] == {"name": "Bulb"}
    assert state.log_ids == tuple(one.entry.id for one in kept[1:])
    assert state.origin("parts.bulb") == kept[0].entry.id
    assert state == fold(store.entries("lamp"))
    assert store.record("lamp") == state.tree


def test_nothing_to_append_is_nothing(store: Store) -> None:
    assert store.append() == ()


def test_a_set_of_entries_is_kept_whole_or_not_at_all(store: Store) -> None:
    begin(store)
    with pytest.raises(DataError) as caught:
        store.append(log("one"), undo(str(uuid4())), log("two"))
    assert caught.value.code == "store.unknown-entry"
    assert len(store.entries("lamp")) == 1
    assert "log" not in store.record("lamp")
    assert store.append(log("one"))[0].entry.seq == 2


def test_everything_wrong_with_a_set_is_told_at_once(store: Store) -> None:
    begin(store)
    wrong = [put("Bulb", at="parts"), log("one"), draft_of("lamp", "undo", {}, entry=uuid4(), at=NOW)]
    with pytest.raises(EntriesInvalid) as caught:
        store.append(*wrong)
    assert [error.code for error in caught.value.errors] == ["ledger.bad-place", "ledger.bad-target"]
    assert f"entry 3 ({wrong[2].id})" in str(caught.value)
    assert len(store.entries("lamp")) == 1


def test_one_call_is_about_one_record(store: Store) -> None:
    begin(store)
    other = draft_of("kettle", "note", {}, entry=uuid4(), at=NOW)
    with pytest.raises(ValueError, match="one record"):
        store.append(log("one"), other)


def test_entries_sent_twice_are_kept_once(store: Store) -> None:
    begin(store)
    queue = [log("one"), log("two")]
    store.append(queue[0])
    kept = store.append(*queue, queue[1])
    assert [(one.entry.seq, one.is_new) for one in kept] == [(2, False), (3, True), (3, False)]
    assert len(store.entries("lamp")) == 3


def test_an_id_used_for_another_entry_is_refused(store: Store) -> None:
    first = UUID(begin(store))
    sent = uuid4()
    store.append(log("one", sent))
    again = draft_of("lamp", "undo", {}, entry=uuid4(), at=NOW, supersedes=sent)
    store.append(again)
    changed = draft_of("lamp", "undo", {}, entry=UUID(again.id), at=NOW, supersedes=first)
    for draft in (log("two", sent), changed):
        with pytest.raises(DataError) as caught:
            store.append(draft)
        assert caught.value.code == "store.entry-clash"


def test_a_record_may_begin_with_an_entry_of_a_set(store: Store) -> None:
    whole = draft_of("lamp", "put-record", LAMP, entry=uuid4(), at=NOW)
    kept = store.append(whole, log("one"))
    assert [one.entry.seq for one in kept] == [1, 2]
    assert [head.name for head in store.records()] == ["Lamp"]


def test_a_refused_beginning_leaves_no_record(store: Store) -> None:
    whole = draft_of("lamp", "put-record", LAMP, entry=uuid4(), at=NOW)
    with pytest.raises(DataError):
        store.append(whole, undo(str(uuid4())))
    assert store.records() == ()
    with pytest.raises(DataError) as caught:
        store.entries("lamp")
    assert caught.value.code == "store.unknown-record"


def test_entries_after_a_number_are_given(store: Store) -> None:
    begin(store)
    store.append(log("one"), log("two"))
    assert [entry.seq for entry in store.entries("lamp", after=1)] == [2, 3]
    assert store.entries("lamp", after=3) == ()


def test_the_past_can_be_shown(store: Store) -> None:
    begin(store)
    store.append(log("one"))
    store.append(undo(store.entries("lamp")[1].id))
    assert store.record("lamp").get("log", []) == []
    assert store.state("lamp", upto_seq=2).tree["log"] == [{"do": "note", "text": "one"}]
    assert store.state("lamp", upto_seq=1).tree == LAMP


def test_the_head_follows_the_product_and_its_undo(store: Store) -> None:
    begin(store)
    product = {**LAMP["product"], "name": "Lamp 2"}
    (kept,) = store.append(
        draft_of("lamp", "put", {"at": "product", "value": product}, entry=uuid4(), at=NOW + timedelta(minutes=1))
    )
    assert store.records()[0].name == "Lamp 2"
    store.append(undo(kept.entry.id))
    assert store.records()[0].name == "Lamp"


def test_the_first_whole_record_cannot_be_withdrawn(store: Store) -> None:
    first = begin(store)
    with pytest.raises(DataError) as caught:
        store.append(undo(first))
    assert caught.value.code == "ledger.no-record"
    assert store.record("lamp") == LAMP


def test_a_put_may_not_take_the_place_of_a_whole_record_or_an_undo(store: Store) -> None:
    first = begin(store)
    one = store.append(log("one"))[0].entry.id
    withdrawn = store.append(undo(one))[0].entry.id
    for target in (first, withdrawn):
        with pytest.raises(DataError) as caught:
            store.append(put("Bulb", supersedes=target))
        assert caught.value.code == "ledger.bad-target"


def test_putting_the_folded_record_again_adds_nothing(store: Store) -> None:
    begin(store)
    store.append(put("Bulb"))
    store.put_record(store.record("lamp"), entry=uuid4(), at=NOW)
    assert len(store.entries("lamp")) == 2
    store.put_record(LAMP, entry=uuid4(), at=NOW)
    assert store.record("lamp") == LAMP


def test_the_later_of_two_authors_is_told_and_both_are_kept(store: Store) -> None:
    first = begin(store)
    mine = put("Base", at="parts.stand", by="ada", base=first)
    theirs = put("Foot", at="parts.stand", by="bo", base=first)
    assert store.append(mine)[0].clash is None
    (kept,) = store.append(theirs)
    assert kept.clash is not None
    assert (kept.clash.id, kept.clash.by, kept.is_new) == (mine.id, "ada", True)
    assert store.record("lamp")["parts"]["stand"] == {"name": "Foot"}
    assert len(store.entries("lamp")) == 3


def test_a_clash_is_told_again_when_the_entry_is_sent_again(store: Store) -> None:
    first = begin(store)
    mine, theirs = put("Base", at="parts.stand", base=first), put("Foot", at="parts.stand", base=first)
    store.append(mine)
    told = store.append(theirs)[0].clash
    store.append(put("Leg", at="parts.stand", base=theirs.id))
    again = store.append(theirs)[0]
    assert (again.is_new, again.clash) == (False, told)


def test_a_queue_of_one_author_does_not_clash_with_itself(store: Store) -> None:
    first = begin(store)
    one = put("Base", at="parts.stand", base=first)
    two = put("Foot", at="parts.stand", base=one.id)
    three = put("Bulb", base=None)
    assert [kept.clash for kept in store.append(one, two, three)] == [None, None, None]


def test_writers_at_once_are_told_of_each_other_exactly(store: Store) -> None:
    first = begin(store)

    def write(number: int) -> str | None:
        clash = store.append(put(f"Foot {number}", at="parts.stand", by=f"w{number}", base=first))[0].clash
        return clash.id if clash else None

    with ThreadPoolExecutor(8) as pool:
        told = list(pool.map(write, range(24)))
    entries = [entry.id for entry in store.entries("lamp")]
    assert sorted(told, key=str) == sorted([None, *entries[1:-1]], key=str)
    assert store.state("lamp") == fold(store.entries("lamp"))


def test_entries_that_must_follow_a_number_are_refused_elsewhere(store: Store) -> None:
    begin(store)
    with pytest.raises(DataError) as caught:
        store.append(log("one"), after=0)
    assert caught.value.code == "store.gone-on"
    assert store.append(log("one"), after=1)[0].entry.seq == 2
    whole = draft_of("kettle", "put-record", {"product": {"id": "kettle"}}, entry=uuid4(), at=NOW)
    assert store.append(whole, after=0)[0].entry.seq == 1
