"""The store in a database: SQLite for one bench, PostgreSQL for many. Import it late, it brings SQLAlchemy."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict, astuple
from datetime import datetime
from typing import Any, Final
from uuid import UUID

import sqlalchemy as sa

from unfasten.evidence.errors import DataError
from unfasten.record.entrybody import PUT_RECORD
from unfasten.record.ledger import Folder, State
from unfasten.store.accept import accept, check_drafts, check_end, first_draft, following
from unfasten.store.accounttable import AccountTable
from unfasten.store.engine import explained, make_engine, transaction
from unfasten.store.entry import Draft, Entry, Head, Kept, body_of, head_of, unknown_record
from unfasten.store.folders import Folders, folded
from unfasten.store.migrate import migrate
from unfasten.store.phototable import PhotoTable

#: the columns as the code sees them; the migration steps define them
RECORD: Final = sa.table("record", *map(sa.column, ("id", "name", "maker", "category", "edition")))
ENTRY: Final = sa.table(
    "entry", *map(sa.column, ("id", "record", "seq", "at", "by_whom", "kind", "body", "supersedes"))
)
#: most ids in one query
_AT_ONCE: Final = 500
_NAMES: Final = tuple(column.name for column in ENTRY.c)


class DatabaseStore:
    """Keeps the contract of `store.contract` in a database that `open_database` made ready."""

    def __init__(self, engine: sa.Engine) -> None:
        self._engine = engine
        self._folders = Folders()
        self.photos = PhotoTable(engine)
        self.accounts = AccountTable(engine)

    def put_record(self, tree: Mapping[str, Any], *, entry: UUID, at: datetime, by: str | None = None) -> Entry:
        """Make `tree` the record's present state, beginning a new record if need be; if it is so, add nothing."""
        first = first_draft(tree, entry=entry, at=at, by=by)
        with self._folders.hold(first.record) as folder, transaction(self._engine) as tx:
            _lock(tx, first.record, first)
            _catch_up(tx, first.record, folder)
            if folder.whole is not None and body_of(folder.peek()) == first.body:
                return folder.whole
            return _append(tx, folder, [following(first, folder.whole)])[0].entry

    def append(self, *drafts: Draft, tell: bool = True, after: int | None = None) -> tuple[Kept, ...]:
        """Add entries to the ledger of one record, all or none; a `put-record` may begin one."""
        if not drafts:
            return ()
        check_drafts(drafts)
        first, record = drafts[0], drafts[0].record
        with self._folders.hold(record) as folder, transaction(self._engine) as tx:
            if not _lock(tx, record, first if first.kind == PUT_RECORD else None):
                raise unknown_record(record)
            _catch_up(tx, record, folder)
            check_end(record, folder, after)
            return tuple(_append(tx, folder, drafts, tell=tell))

    def records(self) -> tuple[Head, ...]:
        """Heads of all records, by id."""
        with transaction(self._engine, reading=True) as tx:
            return tuple(sorted((Head(*row) for row in tx.execute(sa.select(*RECORD.c))), key=lambda head: head.id))

    def record(self, record: str) -> dict[str, Any]:
        """Present tree of a record."""
        return self.state(record).tree

    def state(self, record: str, upto_seq: int | None = None) -> State:
        """Tree of a record with its origins: the present one, or as it stood after entry `upto_seq`."""
        if upto_seq is not None:
            return folded(self.entries(record), upto_seq).state()
        with self._folders.hold(record) as folder, transaction(self._engine, reading=True) as tx:
            _catch_up(tx, record, folder)
            if not folder.seq:
                raise unknown_record(record)
            return folder.state()

    def entries(self, record: str, after: int = 0) -> tuple[Entry, ...]:
        """Ledger of a record, oldest first, from the entry that follows number `after`."""
        with transaction(self._engine, reading=True) as tx:
            found = _entries(tx, record, after)
            if not found and not (after and _is_held(tx, record)):
                raise unknown_record(record)
            return found

    def close(self) -> None:
        """Let go of files and connections."""
        self._engine.dispose()


def open_database(url: str | sa.URL, at: datetime) -> DatabaseStore:
    """Open a database, taking it through the migration steps it lacks; `DataError` if it cannot be used."""
    engine = make_engine(url)
    try:
        with explained(engine.url):
            migrate(engine, at)
    except DataError:
        engine.dispose()
        raise
    return DatabaseStore(engine)


def _lock(tx: sa.Connection, record: str, first: Draft | None = None) -> bool:
    """Lock the record's row, so that its writers take their turn; with `first`, make a row that is missing."""
    row = sa.select(RECORD.c.id).where(RECORD.c.id == record).with_for_update()
    if tx.execute(row).first() is not None:
        return True
    if first is None:
        return False
    insert = sa.text(
        "insert into record (id, name, maker, category, edition)"
        " values (:id, :name, :maker, :category, :edition) on conflict (id) do nothing"
    )
    tx.execute(insert, asdict(head_of(first.tree)))
    return tx.execute(row).first() is not None


def _is_held(tx: sa.Connection, record: str) -> bool:
    return tx.execute(sa.select(RECORD.c.id).where(RECORD.c.id == record)).first() is not None


def _entries(tx: sa.Connection, record: str, after: int) -> tuple[Entry, ...]:
    rows = sa.select(*ENTRY.c).where(ENTRY.c.record == record, ENTRY.c.seq > after).order_by(ENTRY.c.seq)
    return tuple(Entry(*row) for row in tx.execute(rows))


def _catch_up(tx: sa.Connection, record: str, folder: Folder[Entry]) -> None:
    """Add to the folded ledger what others have written since."""
    for entry in _entries(tx, record, folder.seq):
        folder.add(entry)


def _held(tx: sa.Connection, ids: Sequence[str]) -> dict[str, Entry]:
    """Entries of any record that have one of these ids."""
    found: dict[str, Entry] = {}
    for start in range(0, len(ids), _AT_ONCE):
        rows = sa.select(*ENTRY.c).where(ENTRY.c.id.in_(ids[start : start + _AT_ONCE]))
        found |= {entry.id: entry for entry in (Entry(*row) for row in tx.execute(rows))}
    return found


def _append(tx: sa.Connection, folder: Folder[Entry], drafts: Sequence[Draft], *, tell: bool = True) -> list[Kept]:
    """Add drafts to a ledger that is locked and folded up to its end."""
    record = drafts[0].record
    before = head_of(folder.peek()) if folder.seq else None
    held = _held(tx, [draft.id for draft in drafts])
    kept = accept(folder, drafts, held, lambda seq: folded(_entries(tx, record, 0), seq), tell=tell)
    new = [dict(zip(_NAMES, astuple(one.entry), strict=True)) for one in kept if one.is_new]
    if new:
        tx.execute(sa.insert(ENTRY), new)
    head = head_of(folder.peek())
    if head != before:
        tx.execute(sa.update(RECORD).where(RECORD.c.id == record).values(asdict(head)))
    return kept
