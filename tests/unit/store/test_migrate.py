"""Migrations: forward only, whole or not at all, and never without a copy of what was there."""

from __future__ import annotations

import json
import re
import sqlite3
import subprocess
from collections.abc import Callable, Iterator
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path
from uuid import uuid4

import pytest
import sqlalchemy as sa

from unfasten.evidence.errors import DataError
from unfasten.store.database import open_database
from unfasten.store.migrate import applied, migrate, shipped_steps

NOW = datetime(2026, 4, 1, 9, 0, tzinfo=UTC)
ONE = {"001_a": "create table a (x integer);\n"}
TWO = {**ONE, "002_b": "create table b (y integer);\ninsert into a values (1);\n"}


@pytest.fixture
def engine(tmp_path: Path) -> Iterator[Callable[[], sa.Engine]]:
    """Engines on one file, disposed of afterwards."""
    made: list[sa.Engine] = []

    def make() -> sa.Engine:
        made.append(sa.create_engine(f"sqlite:///{tmp_path / 'w.sqlite'}"))
        return made[-1]

    yield make
    for one in made:
        one.dispose()


def tables(path: Path) -> list[str]:
    """Names of the tables in a file."""
    with closing(sqlite3.connect(path)) as db:
        return sorted(name for (name,) in db.execute("select name from sqlite_master where type = 'table'"))


def test_steps_are_applied_once_and_noted(engine: Callable[[], sa.Engine]) -> None:
    assert migrate(engine(), NOW, TWO) == ("001_a", "002_b")
    assert migrate(engine(), NOW, TWO) == ()
    assert applied(engine()) == ("001_a", "002_b")


def test_an_existing_file_is_copied_before_a_step(engine: Callable[[], sa.Engine], tmp_path: Path) -> None:
    migrate(engine(), NOW, ONE)
    assert sorted(path.name for path in tmp_path.iterdir()) == ["w.sqlite"]
    migrate(engine(), NOW, TWO)
    assert tables(tmp_path / "w.sqlite.before-002_b") == ["a", "applied"]
    assert tables(tmp_path / "w.sqlite") == ["a", "applied", "b"]


def test_a_new_file_has_nothing_to_copy(engine: Callable[[], sa.Engine], tmp_path: Path) -> None:
    migrate(engine(), NOW, TWO)
    assert sorted(path.name for path in tmp_path.iterdir()) == ["w.sqlite"]


def test_steps_use_nothing_that_a_copy_of_a_schema_lacks() -> None:
    lacking = re.compile(r"\b(serial|bigserial|identity|sequence|trigger|view|function|partition|generated)\b", re.I)
    for name, sql in shipped_steps().items():
        assert lacking.search(re.sub("--.*", "", sql)) is None, name


def test_the_file_is_restored_as_the_document_says(tmp_path: Path, root: Path) -> None:
    path = tmp_path / "ledger.sqlite"
    store = open_database(f"sqlite:///{path}", NOW)
    product = {"id": "lamp", "name": "Lamp", "maker": "Fellwright", "category": "other"}
    store.put_record({"product": product}, entry=uuid4(), at=NOW)
    store.close()
    later = _as_opened(f"sqlite:///{path}")
    steps = {**shipped_steps(), "003_example": "drop table entry;\n"}
    assert migrate(later, NOW, steps) == ("003_example",)
    later.dispose()
    with pytest.raises(DataError, match="newer release"):
        open_database(f"sqlite:///{path}", NOW)
    text = (root / "docs" / "ledger.md").read_text("utf-8")
    found = re.search(r"<!-- restore on SQLite -->\s*```sh\n(.*?)```", text, re.S)
    assert found is not None
    subprocess.run(["sh", "-e", "-c", found[1]], cwd=tmp_path, check=True)
    store = open_database(f"sqlite:///{path}", NOW)
    assert store.record("lamp") == {"product": product}
    store.close()


def test_a_step_that_fails_leaves_nothing_of_itself(engine: Callable[[], sa.Engine], tmp_path: Path) -> None:
    migrate(engine(), NOW, ONE)
    broken = {**ONE, "002_b": "create table b (y integer);\ninsert into nowhere values (1);\n"}
    path = tmp_path / "w.sqlite"
    opened = _as_opened(f"sqlite:///{path}")
    with pytest.raises(sa.exc.OperationalError):
        migrate(opened, NOW, broken)
    opened.dispose()
    assert tables(path) == ["a", "applied"]
    assert migrate(engine(), NOW, TWO) == ("002_b",)


def _as_opened(url: str) -> sa.Engine:
    """An engine with the transactions that `open_database` gives."""
    from unfasten.store import engine as connections

    engine = sa.create_engine(url)
    sa.event.listen(engine, "connect", connections.careful)
    sa.event.listen(engine, "begin", connections.begin)
    return engine


def test_a_database_of_a_newer_release_is_refused(engine: Callable[[], sa.Engine]) -> None:
    migrate(engine(), NOW, TWO)
    with pytest.raises(DataError) as caught:
        migrate(engine(), NOW, ONE)
    assert caught.value.code == "store.newer"


def test_another_programs_database_is_left_alone(tmp_path: Path) -> None:
    path = tmp_path / "other.sqlite"
    with closing(sqlite3.connect(path)) as db:
        db.execute("create table recipes (name text)")
    with pytest.raises(DataError) as caught:
        open_database(f"sqlite:///{path}", NOW)
    assert caught.value.code == "store.foreign"
    assert tables(path) == ["recipes"]


def test_a_file_that_is_no_database_is_an_error_with_its_place(tmp_path: Path) -> None:
    path = tmp_path / "note.sqlite"
    path.write_text("shopping list: screws, clips, patience\n" * 40)
    with pytest.raises(DataError) as caught:
        open_database(f"sqlite:///{path}", NOW)
    assert caught.value.code == "store.unusable"
    assert "note.sqlite" in caught.value.where


def test_shipped_steps_are_numbered_without_gap() -> None:
    numbers = [int(name.split("_")[0]) for name in shipped_steps()]
    assert numbers == list(range(1, len(numbers) + 1))


def test_sqlite_is_set_to_lose_nothing(tmp_path: Path) -> None:
    store = open_database(f"sqlite:///{tmp_path / 'w.sqlite'}", NOW)
    product = {"id": "lamp", "name": "Lamp", "maker": "Fellwright", "category": "other"}
    store.put_record({"product": product}, entry=uuid4(), at=NOW)
    with store._engine.connect() as connection:
        asked = [connection.exec_driver_sql(f"pragma {name}").scalar() for name in ("journal_mode", "synchronous")]
        assert asked == ["wal", 2]
        assert connection.exec_driver_sql("pragma foreign_keys").scalar() == 1
    store.close()


def test_a_workspace_of_the_first_step_is_taken_along(engine: Callable[[], sa.Engine], tmp_path: Path) -> None:
    first = next(iter(shipped_steps().items()))
    migrate(engine(), NOW, dict([first]))
    product = {"id": "lamp", "name": "Lamp", "maker": "Fellwright", "category": "other"}
    with closing(sqlite3.connect(tmp_path / "w.sqlite")) as db, db:
        db.execute("insert into record values ('lamp', 'Lamp', 'Fellwright', 'other', 1)")
        row = (str(uuid4()), "lamp", 1, NOW.isoformat(), "ada", "put-record", json.dumps({"product": product}), None)
        db.execute("insert into entry values (?, ?, ?, ?, ?, ?, ?, ?)", row)
    store = open_database(f"sqlite:///{tmp_path / 'w.sqlite'}", NOW)
    assert store.record("lamp") == {"product": product}
    assert store.entries("lamp")[0].by == "ada"
    assert store.photos.all() == ()
    store.close()
    assert tables(tmp_path / "w.sqlite.before-002_bench") == ["applied", "entry", "record"]
