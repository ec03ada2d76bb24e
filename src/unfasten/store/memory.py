"""A store in memory: for tests, and for a look at a record that nothing shall be kept of."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime
from threading import Lock
from typing import Any
from uuid import UUID

from unfasten.evidence.errors import DataError
from unfasten.record.entrybody import PUT_RECORD
from unfasten.record.ledger import Folder, State
from unfasten.store.accept import accept, check_drafts, check_end, first_draft, following
from unfasten.store.entry import Draft, Entry, Head, Kept, body_of, head_of, unknown_record
from unfasten.store.folders import folded
from unfasten.store.memoryaccounts import MemoryAccounts, MemoryPhotos


class MemoryStore:
    """Keeps the contract of `store.contract` in dictionaries and lists."""

    def __init__(self) -> None:
        self._lock = Lock()
        self._ledgers: dict[str, tuple[Entry, ...]] = {}
        self._folders: dict[str, Folder[Entry]] = {}
        self._by_id: dict[str, Entry] = {}
        self.photos = MemoryPhotos()
        self.accounts = MemoryAccounts()

    def put_record(self, tree: Mapping[str, Any], *, entry: UUID, at: datetime, by: str | None = None) -> Entry:
        """Make `tree` the record's present state, beginning a new record if need be; if it is so, add nothing."""
        first = first_draft(tree, entry=entry, at=at, by=by)
        with self._lock:
            held = self._folders.get(first.record)
            if held is None or held.whole is None:
                return self._append([first])[0].entry
            if body_of(held.peek()) == first.body:
                return held.whole
            return self._append([following(first, held.whole)])[0].entry

    def append(self, *drafts: Draft, tell: bool = True, after: int | None = None) -> tuple[Kept, ...]:
        """Add entries to the ledger of one record, all or none; a `put-record` may begin one."""
        if not drafts:
            return ()
        check_drafts(drafts)
        with self._lock:
            if drafts[0].record not in self._ledgers and drafts[0].kind != PUT_RECORD:
                raise unknown_record(drafts[0].record)
            check_end(drafts[0].record, self._folders.get(drafts[0].record) or Folder[Entry](), after)
            return tuple(self._append(drafts, tell=tell))

    def records(self) -> tuple[Head, ...]:
        """Heads of all records, by id."""
        with self._lock:
            return tuple(head_of(self._folders[record].peek()) for record in sorted(self._folders))

    def record(self, record: str) -> dict[str, Any]:
        """Present tree of a record."""
        return self.state(record).tree

    def state(self, record: str, upto_seq: int | None = None) -> State:
        """Tree of a record with its origins: the present one, or as it stood after entry `upto_seq`."""
        if upto_seq is not None:
            return folded(self.entries(record), upto_seq).state()
        with self._lock:
            if record not in self._folders:
                raise unknown_record(record)
            return self._folders[record].state()

    def entries(self, record: str, after: int = 0) -> tuple[Entry, ...]:
        """Ledger of a record, oldest first, from the entry that follows number `after`."""
        if record not in self._ledgers:
            raise unknown_record(record)
        return self._ledgers[record][max(after, 0) :]

    def close(self) -> None:
        """Nothing to let go of."""

    def _append(self, drafts: Sequence[Draft], *, tell: bool = True) -> list[Kept]:
        record = drafts[0].record
        ledger = self._ledgers.get(record, ())
        folder = self._folders.get(record) or Folder[Entry]()
        try:
            kept = accept(folder, drafts, self._by_id, lambda seq: folded(ledger, seq), tell=tell)
        except DataError:
            if ledger:
                self._folders[record] = folded(ledger)
            raise
        new = [one.entry for one in kept if one.is_new]
        self._by_id |= {entry.id: entry for entry in new}
        if ledger or new:
            self._folders[record] = folder
            self._ledgers[record] = (*ledger, *new)
        return kept
