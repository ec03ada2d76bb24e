"""Two hundred writers at once on PostgreSQL, in four processes: no entry is lost, doubled or out of order."""

from __future__ import annotations

import json
import subprocess
import sys
from datetime import UTC, datetime
from pathlib import Path
from uuid import uuid4

import pytest

from support.many_writers import TWICE, drafts
from support.patience import PATIENCE_S
from unfasten.record.ledger import fold
from unfasten.store.database import open_database

NOW = datetime(2026, 4, 1, 9, 0, tzinfo=UTC)
PROCESSES, EACH, SETS = 4, 50, 3
WRITERS = PROCESSES * EACH
PRODUCT = {"id": "lamp", "name": "Lamp", "maker": "Fellwright", "category": "other"}
SCRIPT = Path(__file__).parents[1] / "support" / "many_writers.py"


@pytest.mark.postgres
def test_two_hundred_writers_lose_no_entry(postgres_url: str) -> None:
    store = open_database(postgres_url, NOW)
    store.put_record({"product": PRODUCT}, entry=uuid4(), at=NOW)
    commands = [
        [sys.executable, str(SCRIPT), postgres_url, *map(str, (n * EACH, EACH, SETS))] for n in range(PROCESSES)
    ]
    running = [
        subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True) for command in commands
    ]
    said = [one.communicate(timeout=PATIENCE_S) for one in running]
    assert [one.returncode for one in running] == [0] * PROCESSES, said
    acknowledged = [json.loads(out) for out, _ in said]
    entries = store.entries("lamp")
    state = store.state("lamp")
    store.close()
    held = {entry.id: entry.seq for entry in entries}
    assert [entry.seq for entry in entries] == list(range(1, len(entries) + 1))
    assert len(entries) == 1 + WRITERS * SETS * 2
    for told in acknowledged:
        assert {entry: held.get(entry) for entry in told} == told
    assert set(held) - {entries[0].id} == {one for told in acknowledged for one in told}
    assert sum(map(len, acknowledged)) == (WRITERS + (WRITERS - EACH) // TWICE) * SETS * 2, "some were sent twice"
    for writer in range(WRITERS):
        turns = [[held[draft.id] for draft in drafts(writer, turn)] for turn in range(SETS)]
        assert turns == sorted(turns)
        assert all(put == log + 1 for log, put in turns), "a set stays together"
    assert state == fold(entries)
    assert len(state.tree["log"]) == WRITERS * SETS
