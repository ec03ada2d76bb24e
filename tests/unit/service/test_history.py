"""The ledger in words, and a record as it once stood."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any
from uuid import UUID, uuid4

import pytest

from unfasten.evidence.errors import CallError
from unfasten.service.history import history, past
from unfasten.store.entry import draft_of
from unfasten.store.memory import MemoryStore

NOW = datetime(2026, 4, 1, 9, 0, tzinfo=UTC)
PRODUCT = {"id": "lamp", "name": "Lamp", "maker": "Fellwright", "category": "other"}


@pytest.fixture
def store() -> MemoryStore:
    """A lamp with a put, a log entry, its correction and its undo."""
    held = MemoryStore()
    held.put_record({"product": PRODUCT, "parts": {"stand": {}}}, entry=uuid4(), at=NOW, by="ada")

    def add(kind: str, body: dict[str, Any], supersedes: str | None = None) -> str:
        target = UUID(supersedes) if supersedes else None
        return held.append(draft_of("lamp", kind, body, entry=uuid4(), at=NOW, supersedes=target))[0].entry.id

    add("put", {"at": "parts.bulb", "value": {"name": "Bulb"}})
    first = add("log", {"entry": {"do": "lift", "part": "bulb", "at": "0:00:09"}})
    better = add("log", {"entry": {"do": "note", "text": "hot\n" + "x" * 200}}, first)
    add("undo", {}, better)
    add("audit", {"what": "exported"})
    return held


def test_every_entry_is_said_in_words(store: MemoryStore) -> None:
    lines = history(store, "lamp")
    assert [line.says for line in lines[:3]] == [
        "whole record: 1 parts, 0 joints, 0 log entries",
        "parts.bulb",
        "0:00:09 lift bulb",
    ]
    assert lines[3].says.startswith("note hot x")
    assert "\n" not in lines[3].says
    assert len(lines[3].says) < 100
    assert (lines[3].corrects, lines[3].undone_by) == (3, 5)
    assert lines[4].says == "entry 4"
    assert lines[5].says == "what exported"
    assert lines[0].as_json()["by"] == "ada"


def test_a_line_of_the_bench_is_said_as_it_was_understood(store: MemoryStore) -> None:
    for body in ({"text": "lift bulb", "words": "Out: Bulb", "pieces": 0}, {"text": "hm", "words": ""}):
        store.append(draft_of("lamp", "line", body, entry=uuid4(), at=NOW))
    assert [line.says for line in history(store, "lamp")[-2:]] == ["Out: Bulb", "hm"]


def test_a_past_state_is_what_the_entries_up_to_it_make(store: MemoryStore) -> None:
    assert "log" not in past(store, "lamp", 2)
    assert past(store, "lamp", 4)["log"][0]["do"] == "note"
    assert past(store, "lamp", 5)["log"][0]["do"] == "lift"


@pytest.mark.parametrize("seq", [-1, 0, 7])
def test_an_entry_that_there_is_not_is_a_wrong_call(store: MemoryStore, seq: int) -> None:
    with pytest.raises(CallError) as caught:
        past(store, "lamp", seq)
    assert caught.value.code == "history.no-entry"
    assert "1 to 6" in str(caught.value)
