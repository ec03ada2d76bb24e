"""One contract, every store: memory, SQLite and PostgreSQL pass the same tests."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from copy import deepcopy
from datetime import UTC, datetime, timedelta
from typing import Any
from uuid import UUID, uuid4

import pytest

from unfasten.evidence.errors import DataError
from unfasten.store.contract import Store
from unfasten.store.entry import Head, draft_of

NOW = datetime(2026, 4, 1, 9, 0, tzinfo=UTC)
LAMP: dict[str, Any] = {
    "format": "unfasten-record/1",
    "product": {"id": "lamp", "name": "Lampe à pied", "maker": "Fellwright", "category": "other"},
    "parts": {"stand": {"name": "Stand", "stays": True}, "bulb": {"name": "Bulb ½"}, "arm": {"name": "Arm"}},
}
KETTLE: dict[str, Any] = {**LAMP, "product": {**LAMP["product"], "id": "kettle"}, "sheet": {"edition": 4}}


def changed(tree: dict[str, Any], name: str) -> dict[str, Any]:
    """A copy of the tree under another product name."""
    other = deepcopy(tree)
    other["product"]["name"] = name
    return other


def put(store: Store, tree: dict[str, Any], minutes: int = 0) -> UUID:
    """Put a tree under a new id and give the id of the entry that holds it."""
    return UUID(store.put_record(tree, entry=uuid4(), at=NOW + timedelta(minutes=minutes), by="ada").id)


def test_an_empty_store_lists_nothing(store: Store) -> None:
    assert store.records() == ()


def test_a_record_comes_back_as_it_was_put(store: Store) -> None:
    put(store, LAMP)
    assert store.record("lamp") == LAMP
    assert list(store.record("lamp")["parts"]) == ["stand", "bulb", "arm"], "the order of the record is kept"


def test_records_are_listed_by_id(store: Store) -> None:
    put(store, LAMP)
    put(store, KETTLE)
    assert store.records() == (
        Head("kettle", "Lampe à pied", "Fellwright", "other", 4),
        Head("lamp", "Lampe à pied", "Fellwright", "other", 1),
    )


def test_putting_the_same_record_again_adds_nothing(store: Store) -> None:
    first = put(store, LAMP)
    assert put(store, LAMP, 5) == first
    assert len(store.entries("lamp")) == 1


def test_a_changed_record_supersedes_and_keeps_the_old(store: Store) -> None:
    first = put(store, LAMP)
    second = put(store, changed(LAMP, "Lamp"), 5)
    old, new = store.entries("lamp")
    assert (old.id, old.seq, old.supersedes, old.tree) == (str(first), 1, None, LAMP)
    assert (new.id, new.seq, new.supersedes) == (str(second), 2, str(first))
    assert (new.by, new.at) == ("ada", "2026-04-01T09:05:00+00:00")
    assert store.record("lamp")["product"]["name"] == store.records()[0].name == "Lamp"


def test_a_repeated_send_is_the_same_entry(store: Store) -> None:
    sent = uuid4()
    first = store.put_record(LAMP, entry=sent, at=NOW)
    store.put_record(changed(LAMP, "Lamp"), entry=uuid4(), at=NOW)
    again = store.put_record(LAMP, entry=sent, at=NOW + timedelta(hours=1))
    assert again == first
    assert len(store.entries("lamp")) == 2
    assert store.records()[0].name == "Lamp", "a late repetition does not bring the old state back"


def test_an_id_used_for_something_else_is_refused_and_nothing_kept(store: Store) -> None:
    sent = uuid4()
    store.put_record(LAMP, entry=sent, at=NOW)
    with pytest.raises(DataError) as caught:
        store.put_record(KETTLE, entry=sent, at=NOW)
    assert caught.value.code == "store.entry-clash"
    assert [head.id for head in store.records()] == ["lamp"]


def test_a_plain_entry_joins_the_ledger(store: Store) -> None:
    put(store, LAMP)
    draft = draft_of("lamp", "note", {"text": "stiff"}, entry=uuid4(), at=NOW, by="ada")
    (first,) = store.append(draft)
    assert first.is_new
    (again,) = store.append(draft)
    assert (again.entry, again.is_new) == (first.entry, False)
    assert [(entry.seq, entry.kind) for entry in store.entries("lamp")] == [(1, "put-record"), (2, "note")]
    assert store.record("lamp") == LAMP, "a plain entry does not change the record put"


def test_a_plain_entry_may_supersede_one_of_its_own_record_only(store: Store) -> None:
    put(store, LAMP)
    foreign = put(store, KETTLE)
    own = store.append(draft_of("lamp", "note", {"text": "stif"}, entry=uuid4(), at=NOW))[0].entry
    better = draft_of("lamp", "note", {"text": "stiff"}, entry=uuid4(), at=NOW, supersedes=UUID(own.id))
    assert store.append(better)[0].entry.supersedes == own.id
    for wrong in (foreign, uuid4()):
        with pytest.raises(DataError) as caught:
            store.append(draft_of("lamp", "note", {}, entry=uuid4(), at=NOW, supersedes=wrong))
        assert caught.value.code == "store.unknown-entry"
    assert len(store.entries("lamp")) == 3


def test_what_is_not_held_is_an_error_that_names_it(store: Store) -> None:
    for ask in (store.record, store.entries, lambda r: store.append(draft_of(r, "note", {}, entry=uuid4(), at=NOW))):
        with pytest.raises(DataError) as caught:
            ask("toaster")
        assert (caught.value.code, caught.value.where) == ("store.unknown-record", "toaster")


def test_what_was_returned_does_not_change_under_later_writes(store: Store) -> None:
    put(store, LAMP)
    entries, heads, tree = store.entries("lamp"), store.records(), store.record("lamp")
    put(store, changed(LAMP, "Lamp"))
    tree["parts"].clear()
    assert len(entries) == 1
    assert heads[0].name == "Lampe à pied"
    assert len(store.record("lamp")["parts"]) == 3


def test_writers_at_once_get_one_sequence_without_gaps(store: Store) -> None:
    def write(number: int) -> None:
        store.put_record(changed(LAMP, f"Lamp {number % 4}"), entry=uuid4(), at=NOW)
        store.append(draft_of("lamp", "note", {"n": number}, entry=uuid4(), at=NOW))

    with ThreadPoolExecutor(4) as pool:
        list(pool.map(write, range(24)))
    entries = store.entries("lamp")
    assert [entry.seq for entry in entries] == list(range(1, len(entries) + 1))
    assert sum(entry.kind == "note" for entry in entries) == 24
    puts = [entry for entry in entries if entry.kind == "put-record"]
    assert [entry.supersedes for entry in puts] == [None, *(entry.id for entry in puts[:-1])]
