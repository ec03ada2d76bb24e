"""A disk that is full or read-only: a clear error, nothing half written, and all is well again once there is room."""

from __future__ import annotations

import json
import sqlite3
import subprocess
import sys
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path
from typing import Any
from uuid import UUID, uuid4

import pytest
import sqlalchemy as sa

from support.patience import PATIENCE_S
from unfasten.evidence.errors import DataError
from unfasten.store.database import DatabaseStore, open_database
from unfasten.store.engine import explained
from unfasten.store.entry import Draft, draft_of

NOW = datetime(2026, 4, 1, 9, 0, tzinfo=UTC)
PRODUCT = {"id": "lamp", "name": "Lamp", "maker": "Fellwright", "category": "other"}
LIMITED = """
import json, resource, sys
from pathlib import Path
from uuid import UUID, uuid4
sys.path.insert(0, sys.argv[1])
from unit.store.test_full_disk import NOW, opened, note
from unfasten.evidence.errors import DataError
from unfasten.store.blobs import Blobs
folder = Path(sys.argv[2])
store, blobs, kept, codes = opened(folder), Blobs(folder / "photos"), [], []
resource.setrlimit(resource.RLIMIT_FSIZE, (400_000, 400_000))
for act in (lambda: store.append(note(), note()), lambda: blobs.put(b"x" * 500_000), lambda: store.append(note())):
    try:
        for _ in range(200):
            got = act()
            kept += [] if isinstance(got, str) else [one.entry.id for one in got]
    except DataError as error:
        codes.append(error.code)
print(json.dumps([kept, codes]))
"""


def opened(folder: Path) -> DatabaseStore:
    """The store in a folder, with the lamp in it."""
    store = open_database(f"sqlite:///{folder / 'ledger.sqlite'}", NOW)
    store.put_record({"product": PRODUCT}, entry=UUID(int=1 << 100), at=NOW)
    return store


def note() -> Draft:
    """An entry of some 4 kB."""
    return draft_of("lamp", "log", {"entry": {"do": "note", "text": "x" * 4000}}, entry=uuid4(), at=NOW)


def limited(store: DatabaseStore, *pragmas: str) -> None:
    """Let every connection of a store begin with these pragmas."""

    def connect(connection: Any, _record: object) -> None:
        for pragma in pragmas:
            connection.execute(f"pragma {pragma}").close()

    store._engine.dispose()
    sa.event.listen(store._engine, "connect", connect)


def test_a_full_database_is_told_and_keeps_what_it_had(tmp_path: Path) -> None:
    store = opened(tmp_path)
    limited(store, "max_page_count=120")
    kept: list[str] = []

    def fill() -> None:
        for _ in range(200):
            kept.extend(one.entry.id for one in store.append(note(), note(), note()))

    with pytest.raises(DataError) as caught:
        fill()
    assert caught.value.code == "store.disk-full"
    assert "nothing of this was kept" in str(caught.value)
    assert len(kept) > 9
    assert [entry.id for entry in store.entries("lamp")[1:]] == kept
    assert len(store.record("lamp")["log"]) == len(kept)
    store.close()
    again = opened(tmp_path)
    last = again.append(note())[0].entry
    assert last.seq == len(kept) + 2
    again.close()


def test_a_disk_without_room_is_told_and_keeps_what_it_had(tmp_path: Path, root: Path) -> None:
    command = [sys.executable, "-c", LIMITED, str(root / "tests"), str(tmp_path)]
    done = subprocess.run(command, capture_output=True, text=True, timeout=PATIENCE_S, check=True)
    kept, codes = json.loads(done.stdout)
    assert codes == ["store.disk-full"] * 3
    assert len(kept) > 9
    store = opened(tmp_path)
    assert [entry.id for entry in store.entries("lamp")[1:]] == kept
    assert store.append(note())[0].entry.seq == len(kept) + 2
    store.close()
    with closing(sqlite3.connect(tmp_path / "ledger.sqlite")) as db:
        assert db.execute("pragma integrity_check").fetchone()[0] == "ok"
    assert [path for path in (tmp_path / "photos").rglob("*") if path.is_file()] == []


def test_a_database_that_cannot_be_written_can_still_be_read(tmp_path: Path) -> None:
    store = opened(tmp_path)
    limited(store, "query_only=on")
    with pytest.raises(DataError) as caught:
        store.append(note())
    assert caught.value.code == "store.read-only"
    assert store.record("lamp") == {"product": PRODUCT}
    store.close()


def test_a_writer_that_does_not_get_its_turn_is_told(tmp_path: Path) -> None:
    store = opened(tmp_path)
    limited(store, "busy_timeout=20")
    with closing(sqlite3.connect(tmp_path / "ledger.sqlite", isolation_level=None)) as other:
        other.execute("begin immediate")
        with pytest.raises(DataError) as caught:
            store.append(note())
        assert caught.value.code == "store.busy"
        other.execute("rollback")
    assert store.append(note())[0].entry.seq == 2
    store.close()


@pytest.mark.postgres
def test_a_server_that_cannot_be_written_can_still_be_read(postgres_url: str) -> None:
    store = open_database(postgres_url, NOW)
    store.put_record({"product": PRODUCT}, entry=uuid4(), at=NOW)
    store.close()
    url = sa.make_url(postgres_url)
    options = f"{url.query['options']} -cdefault_transaction_read_only=on"
    store = open_database(url.update_query_dict({"options": options}), NOW)
    with pytest.raises(DataError) as caught:
        store.append(note())
    assert caught.value.code == "store.read-only"
    assert store.record("lamp") == {"product": PRODUCT}
    store.close()


@pytest.mark.postgres
def test_a_server_that_dropped_its_connections_is_spoken_to_again(postgres_url: str) -> None:
    store = open_database(postgres_url, NOW)
    store.put_record({"product": PRODUCT}, entry=uuid4(), at=NOW)
    with store._engine.connect() as own:
        pid = own.exec_driver_sql("select pg_backend_pid()").scalar()
    other = sa.create_engine(postgres_url)
    with other.begin() as tx:
        tx.exec_driver_sql(f"select pg_terminate_backend({pid})")
    other.dispose()
    assert store.append(note())[0].entry.seq == 2
    store.close()


@pytest.mark.parametrize(
    ("state", "code"),
    [
        ("53100", "store.disk-full"),
        ("25006", "store.read-only"),
        ("40001", "store.busy"),
        ("55P03", "store.busy"),
        ("57P01", "store.away"),
        ("08006", "store.away"),
        ("42P01", "store.unusable"),
    ],
)
def test_what_a_server_says_has_a_meaning(state: str, code: str) -> None:
    class SaidError(Exception):
        sqlstate = state

    with pytest.raises(DataError) as caught, explained(sa.make_url("postgresql://ada:word@h/lab")):
        raise sa.exc.OperationalError("insert", {}, SaidError("it said so"))
    assert caught.value.code == code
    assert "word" not in str(caught.value)
