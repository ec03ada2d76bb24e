"""A migration on PostgreSQL copies the workspace first, and the copy can be put back as the documents say."""

from __future__ import annotations

import re
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime, timedelta
from pathlib import Path
from threading import Event
from typing import Any
from uuid import uuid4

import pytest
import sqlalchemy as sa

from support.patience import PATIENCE_S
from unfasten.evidence.errors import DataError
from unfasten.store import backup
from unfasten.store.database import open_database
from unfasten.store.engine import make_engine
from unfasten.store.migrate import applied, migrate, shipped_steps

NOW = datetime(2026, 4, 1, 9, 0, tzinfo=UTC)
STEPS = shipped_steps()
FIRST = dict([next(iter(STEPS.items()))])
NEXT = {**STEPS, "900_more": "alter table entry add column seen text;\ncreate table extra (a integer);\n"}
PRODUCT = {"id": "lamp", "name": "Lamp 100 % 'new'", "maker": "Fellwright", "category": "other"}
pytestmark = pytest.mark.postgres


class Lab:
    """A PostgreSQL workspace of the test's own; `now` too, for copies in one database are named by the moment."""

    def __init__(self, url: str) -> None:
        self.url = url
        self.engine = make_engine(url)
        self.now = NOW + timedelta(seconds=uuid4().int % 10**8)
        self.copy = f"unfasten_before_900_more_{self.now:%Y%m%d_%H%M%S}"
        self.schema = str(self.ask("select current_schema()")[0][0])

    def ask(self, query: str, **values: Any) -> list[Any]:
        with self.engine.begin() as tx:
            done = tx.execute(sa.text(query), values)
            return list(done) if done.returns_rows else []

    def copies(self) -> list[str]:
        """Schemas that are copies of this one, oldest first."""
        about = f"unfasten: {self.schema} as it was before step %"
        query = "select nspname from pg_namespace where obj_description(oid, 'pg_namespace') like :about order by oid"
        return [row[0] for row in self.ask(query, about=about)]

    def fill(self) -> None:
        store = open_database(self.url, NOW)
        store.put_record({"product": PRODUCT}, entry=uuid4(), at=NOW)
        store.close()


@pytest.fixture
def lab(postgres_url: str) -> Iterator[Lab]:
    made = Lab(postgres_url)
    yield made
    made.engine.dispose()


def shape(lab: Lab, schema: str) -> dict[str, list[Any]]:
    """Columns, constraints and indexes of a schema, without its name."""
    columns = "select table_name, column_name, data_type, character_maximum_length, is_nullable, column_default"
    columns += " from information_schema.columns where table_schema = :schema order by table_name, ordinal_position"
    keys = "select conrelid::regclass::text, contype, pg_get_constraintdef(k.oid) from pg_constraint k"
    keys += " join pg_class t on t.oid = conrelid where relnamespace = cast(:schema as regnamespace)"
    indexes = "select tablename, indexdef from pg_indexes where schemaname = :schema"
    found = {name: lab.ask(query, schema=schema) for name, query in
             (("columns", columns), ("keys", keys), ("indexes", indexes))}  # fmt: skip
    plain = {name: [re.sub(rf"\b{schema}\.", "", repr(tuple(row))) for row in rows] for name, rows in found.items()}
    plain["indexes"] = [re.sub(r"INDEX \w+ ON", "INDEX ON", row) for row in plain["indexes"]]
    return {name: sorted(rows) for name, rows in plain.items()}


def test_a_new_workspace_has_nothing_to_copy(lab: Lab) -> None:
    assert migrate(lab.engine, lab.now) == tuple(STEPS)
    assert lab.copies() == []


def test_each_step_is_preceded_by_a_copy_with_the_same_shape_and_rows(lab: Lab) -> None:
    migrate(lab.engine, lab.now)
    lab.fill()
    before = shape(lab, lab.schema)
    entries = lab.ask("select * from entry")
    assert migrate(lab.engine, lab.now, NEXT) == ("900_more",)
    (copy,) = lab.copies()
    assert copy == lab.copy
    assert shape(lab, copy) == before
    assert len(before["keys"]) > len(STEPS)
    assert lab.ask(f"select * from {copy}.entry") == entries
    assert lab.ask(f"select name from {copy}.applied order by name") == [(name,) for name in STEPS]
    assert lab.ask("select seen from entry") == [(None,)]


def test_the_copy_is_a_workspace_of_the_release_before(lab: Lab) -> None:
    migrate(lab.engine, lab.now)
    lab.fill()
    migrate(lab.engine, lab.now, NEXT)
    url = sa.make_url(lab.url).update_query_dict({"options": f"-csearch_path={lab.copies()[0]}"})
    store = open_database(url.render_as_string(hide_password=False), NOW)
    assert store.record("lamp") == {"product": PRODUCT}
    store.close()
    with pytest.raises(sa.exc.IntegrityError):
        lab.ask(f"insert into {lab.copies()[0]}.upload_key values ('k', 'nowhere', null, 'x', null)")
    with pytest.raises(DataError, match="newer release"):
        open_database(lab.url, NOW)


def test_two_copies_of_the_same_moment_have_names_of_their_own(lab: Lab) -> None:
    migrate(lab.engine, lab.now, FIRST)
    migrate(lab.engine, lab.now)
    assert len(lab.copies()) == len(STEPS) - 1
    with lab.engine.begin() as tx:
        names = [backup.copy_schema(tx, "900_more", lab.now) for _ in range(2)]
    assert names == [f'"{lab.copy}"', f'"{lab.copy}_2"']


def test_a_step_that_fails_leaves_neither_itself_nor_a_copy(lab: Lab) -> None:
    migrate(lab.engine, lab.now)
    broken = {**STEPS, "900_more": "create table b (y integer);\ninsert into nowhere values (1);\n"}
    with pytest.raises(sa.exc.ProgrammingError):
        migrate(lab.engine, lab.now, broken)
    assert lab.copies() == []
    assert lab.ask("select to_regclass('b')") == [(None,)]


def test_a_copy_that_lacks_a_row_stops_the_step(lab: Lab, monkeypatch: pytest.MonkeyPatch) -> None:
    migrate(lab.engine, lab.now)
    real = backup._counted

    def one_is_missing(tx: sa.Connection, table: str) -> tuple[int, str]:
        if table.endswith('."applied"'):
            tx.exec_driver_sql(f"delete from {table} where name = '{next(iter(STEPS))}'")
        return real(tx, table)

    monkeypatch.setattr(backup, "_counted", one_is_missing)
    with pytest.raises(DataError) as caught:
        migrate(lab.engine, lab.now, NEXT)
    assert caught.value.code == "store.no-copy"
    assert f"{len(STEPS) - 1} of {len(STEPS)} rows" in caught.value.message
    assert applied(lab.engine) == tuple(STEPS)
    assert lab.copies() == []


def test_who_may_not_make_a_schema_is_told_and_nothing_is_changed(lab: Lab) -> None:
    migrate(lab.engine, lab.now)
    user = f"unfasten_{uuid4().hex}"
    lab.ask(f"create role {user}")
    try:
        lab.ask(f"grant usage, create on schema {lab.schema} to {user}")
        for (table,) in lab.ask("select tablename from pg_tables where schemaname = :s", s=lab.schema):
            lab.ask(f"alter table {table} owner to {user}")
        limited = make_engine(lab.url)
        sa.event.listen(limited, "begin", lambda connection: connection.exec_driver_sql(f"set local role {user}"))
        with pytest.raises(DataError) as caught:
            migrate(limited, lab.now, NEXT)
        limited.dispose()
        assert caught.value.code == "store.no-copy"
        assert "grant create on database" in caught.value.remedy
        assert user in caught.value.remedy
        assert applied(lab.engine) == tuple(STEPS)
    finally:
        lab.ask(f"reassign owned by {user} to current_user")
        lab.ask(f"drop owned by {user}")
        lab.ask(f"drop role {user}")


def test_of_several_who_migrate_at_once_one_copies(lab: Lab) -> None:
    migrate(lab.engine, lab.now, FIRST)
    with ThreadPoolExecutor(4) as pool:
        list(pool.map(lambda n: migrate(lab.engine, lab.now + timedelta(seconds=n)), range(4)))
    assert len(lab.copies()) == len(STEPS) - 1


def test_what_is_written_while_it_waits_is_in_the_copy(lab: Lab, monkeypatch: pytest.MonkeyPatch) -> None:
    migrate(lab.engine, lab.now)
    lab.fill()
    began = Event()
    real = backup.copy_schema

    def noted(tx: sa.Connection, name: str, at: datetime) -> str:
        began.set()
        return real(tx, name, at)

    monkeypatch.setattr("unfasten.store.migrate.copy_schema", noted)
    with ThreadPoolExecutor(1) as pool, lab.engine.connect() as writer, writer.begin():
        writer.exec_driver_sql("update record set maker = 'Elsewhere'")
        moving = pool.submit(migrate, lab.engine, lab.now, NEXT)
        assert began.wait(PATIENCE_S)
        writer.commit()
        assert moving.result(PATIENCE_S) == ("900_more",)
    assert lab.ask(f"select maker from {lab.copies()[0]}.record") == [("Elsewhere",)]


def test_the_workspace_is_restored_as_the_document_says(lab: Lab, root: Path) -> None:
    """The statements of docs/ledger.md, with this workspace's names, on the real server."""
    migrate(lab.engine, lab.now)
    lab.fill()
    before = shape(lab, lab.schema)
    migrate(lab.engine, lab.now, NEXT)
    lab.ask("delete from entry")
    lab.ask("drop table extra")
    text = (root / "docs" / "ledger.md").read_text("utf-8")
    found = re.search(r"<!-- restore on PostgreSQL -->\s*```sql\n(.*?)```", text, re.S)
    assert found is not None
    names = {"public": lab.schema, "unfasten_before_003_example_20261125_180000": lab.copies()[0]}
    names["broken"] = f"{lab.schema}_broken"
    statements = re.sub("|".join(names), lambda match: names[match[0]], found[1])
    assert all(name in statements for name in names.values())
    try:
        with lab.engine.connect().execution_options(isolation_level="AUTOCOMMIT") as connection:
            for statement in filter(str.strip, statements.split(";\n")):
                connection.exec_driver_sql(statement)
        store = open_database(lab.url, NOW)
        assert store.record("lamp") == {"product": PRODUCT}
        store.close()
        assert shape(lab, lab.schema) == before
        assert migrate(lab.engine, lab.now, NEXT) == ("900_more",), "the newer release can be started again"
    finally:
        lab.ask(f"drop schema if exists {names['broken']} cascade")
