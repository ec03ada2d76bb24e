"""The store in a database: SQLite for one bench, PostgreSQL for many. Import it late, it brings SQLAlchemy."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import asdict, astuple
from datetime import datetime
from typing import Any, Final
from uuid import UUID

import sqlalchemy as sa

from unfasten.evidence.errors import DataError
from unfasten.store.entry import (
    PUT_RECORD,
    Draft,
    Entry,
    Head,
    head_of,
    placed,
    put_draft,
    refuse_clash,
    refuse_put,
    unknown_entry,
    unknown_record,
)
from unfasten.store.migrate import migrate

#: the columns as the code sees them; the migration steps define them
RECORD: Final = sa.table("record", *map(sa.column, ("id", "name", "maker", "category", "edition")))
ENTRY: Final = sa.table(
    "entry", *map(sa.column, ("id", "record", "seq", "at", "by_whom", "kind", "body", "supersedes"))
)
BUSY_S: Final = 30


class DatabaseStore:
    """Keeps the contract of `store.contract` in a database that `open_database` made ready."""

    def __init__(self, engine: sa.Engine) -> None:
        self._engine = engine

    def put_record(self, tree: Mapping[str, Any], *, entry: UUID, at: datetime, by: str | None = None) -> Entry:
        """Make `tree` the record's present state; if it is so already, add nothing. Give the entry that holds it."""
        head = head_of(tree)
        with self._transaction() as tx:
            self._hold(tx, head)
            held = _present(tx, head.id)
            draft = put_draft(head.id, tree, held, entry=entry, at=at, by=by)
            if held is not None and held.body == draft.body:
                return held
            sent = _by_id(tx, draft.id)
            if sent is not None:
                return refuse_clash(sent, draft)
            tx.execute(sa.update(RECORD).where(RECORD.c.id == head.id).values(asdict(head)))
            return _add(tx, draft)

    def append(self, draft: Draft) -> Entry:
        """Add an entry to the ledger of a record that is held."""
        refuse_put(draft)
        with self._transaction() as tx:
            if not _lock(tx, draft.record):
                raise unknown_record(draft.record)
            sent = _by_id(tx, draft.id)
            if sent is not None:
                return refuse_clash(sent, draft)
            if draft.supersedes is not None:
                old = _by_id(tx, draft.supersedes)
                if old is None or old.record != draft.record:
                    raise unknown_entry(draft.supersedes)
            return _add(tx, draft)

    def records(self) -> tuple[Head, ...]:
        """Heads of all records, by id."""
        with self._transaction(reading=True) as tx:
            return tuple(sorted((Head(*row) for row in tx.execute(sa.select(*RECORD.c))), key=lambda head: head.id))

    def record(self, record: str) -> dict[str, Any]:
        """Present tree of a record."""
        with self._transaction(reading=True) as tx:
            held = _present(tx, record)
        if held is None:
            raise unknown_record(record)
        return held.tree

    def entries(self, record: str) -> tuple[Entry, ...]:
        """Whole ledger of a record, oldest first."""
        rows = sa.select(*ENTRY.c).where(ENTRY.c.record == record).order_by(ENTRY.c.seq)
        with self._transaction(reading=True) as tx:
            entries = tuple(Entry(*row) for row in tx.execute(rows))
        if not entries:
            raise unknown_record(record)
        return entries

    def close(self) -> None:
        """Let go of files and connections."""
        self._engine.dispose()

    @contextmanager
    def _transaction(self, *, reading: bool = False) -> Iterator[sa.Connection]:
        with _explained(self._engine.url), self._engine.connect() as connection:
            connection = connection.execution_options(reading=reading)
            with connection.begin():
                yield connection

    @staticmethod
    def _hold(tx: sa.Connection, head: Head) -> None:
        """Make sure the record has its row, and lock it: writers to one record take their turn."""
        if not _lock(tx, head.id):
            insert = sa.text(
                "insert into record (id, name, maker, category, edition)"
                " values (:id, :name, :maker, :category, :edition) on conflict (id) do nothing"
            )
            tx.execute(insert, asdict(head))
            _lock(tx, head.id)


def open_database(url: str | sa.URL, at: datetime) -> DatabaseStore:
    """Open a database, taking it through the migration steps it lacks; `DataError` if it cannot be used."""
    parsed = sa.make_url(url)
    engine = sa.create_engine(parsed, connect_args={"timeout": BUSY_S} if parsed.drivername == "sqlite" else {})
    if parsed.drivername == "sqlite":
        sa.event.listen(engine, "connect", _careful)
        sa.event.listen(engine, "begin", _begin)
    try:
        with _explained(engine.url):
            migrate(engine, at)
    except DataError:
        engine.dispose()
        raise
    return DatabaseStore(engine)


def _careful(connection: Any, _record: object) -> None:
    connection.isolation_level = None
    for pragma in ("journal_mode=wal", "synchronous=full", "foreign_keys=on"):
        connection.execute(f"pragma {pragma}").close()


def _begin(connection: sa.Connection) -> None:
    reading = connection.get_execution_options().get("reading", False)
    connection.exec_driver_sql("begin" if reading else "begin immediate")


@contextmanager
def _explained(url: sa.URL) -> Iterator[None]:
    """Turn the database's own error into one that says what to do."""
    try:
        yield
    except sa.exc.DBAPIError as error:
        where = url.render_as_string(hide_password=True)
        remedy = "check that it is an unfasten workspace, that it may be written, and that the disk has room"
        raise DataError("store.unusable", where, str(error.orig).strip(), remedy) from error


def _names(table: sa.TableClause) -> list[str]:
    return [column.name for column in table.c]


def _lock(tx: sa.Connection, record: str) -> bool:
    return tx.execute(sa.select(RECORD.c.id).where(RECORD.c.id == record).with_for_update()).first() is not None


def _present(tx: sa.Connection, record: str) -> Entry | None:
    puts = sa.select(*ENTRY.c).where(ENTRY.c.record == record, ENTRY.c.kind == PUT_RECORD)
    row = tx.execute(puts.order_by(ENTRY.c.seq.desc()).limit(1)).first()
    return None if row is None else Entry(*row)


def _by_id(tx: sa.Connection, entry: str) -> Entry | None:
    row = tx.execute(sa.select(*ENTRY.c).where(ENTRY.c.id == entry)).first()
    return None if row is None else Entry(*row)


def _add(tx: sa.Connection, draft: Draft) -> Entry:
    last = tx.execute(sa.select(sa.func.max(ENTRY.c.seq)).where(ENTRY.c.record == draft.record)).scalar()
    entry = placed(draft, (last or 0) + 1)
    tx.execute(sa.insert(ENTRY).values(dict(zip(_names(ENTRY), astuple(entry), strict=True))))
    return entry
