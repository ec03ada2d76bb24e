"""A store in memory: for tests, and for a look at a record that nothing shall be kept of."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from threading import Lock
from typing import Any
from uuid import UUID

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


class MemoryStore:
    """Keeps the contract of `store.contract` in two dictionaries and a list."""

    def __init__(self) -> None:
        self._lock = Lock()
        self._heads: dict[str, Head] = {}
        self._ledgers: dict[str, list[Entry]] = {}
        self._by_id: dict[str, Entry] = {}

    def put_record(self, tree: Mapping[str, Any], *, entry: UUID, at: datetime, by: str | None = None) -> Entry:
        """Make `tree` the record's present state; if it is so already, add nothing. Give the entry that holds it."""
        head = head_of(tree)
        with self._lock:
            held = self._present(head.id)
            draft = put_draft(head.id, tree, held, entry=entry, at=at, by=by)
            if held is not None and held.body == draft.body:
                return held
            if draft.id in self._by_id:
                return refuse_clash(self._by_id[draft.id], draft)
            self._heads[head.id] = head
            self._ledgers.setdefault(head.id, [])
            return self._add(draft)

    def append(self, draft: Draft) -> Entry:
        """Add an entry to the ledger of a record that is held."""
        refuse_put(draft)
        with self._lock:
            if draft.record not in self._ledgers:
                raise unknown_record(draft.record)
            if draft.id in self._by_id:
                return refuse_clash(self._by_id[draft.id], draft)
            if draft.supersedes and draft.supersedes not in {entry.id for entry in self._ledgers[draft.record]}:
                raise unknown_entry(draft.supersedes)
            return self._add(draft)

    def records(self) -> tuple[Head, ...]:
        """Heads of all records, by id."""
        return tuple(self._heads[record] for record in sorted(self._heads))

    def record(self, record: str) -> dict[str, Any]:
        """Present tree of a record."""
        held = self._present(record)
        if held is None:
            raise unknown_record(record)
        return held.tree

    def entries(self, record: str) -> tuple[Entry, ...]:
        """Whole ledger of a record, oldest first."""
        if record not in self._ledgers:
            raise unknown_record(record)
        return tuple(self._ledgers[record])

    def close(self) -> None:
        """Nothing to let go of."""

    def _present(self, record: str) -> Entry | None:
        puts = (entry for entry in reversed(self._ledgers.get(record, [])) if entry.kind == PUT_RECORD)
        return next(puts, None)

    def _add(self, draft: Draft) -> Entry:
        ledger = self._ledgers[draft.record]
        entry = placed(draft, len(ledger) + 1)
        self._by_id[entry.id] = entry
        ledger.append(entry)
        return entry
