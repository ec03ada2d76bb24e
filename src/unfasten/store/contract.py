"""What every store keeps to; one suite of tests runs over all of them."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any, Protocol
from uuid import UUID

from unfasten.store.entry import Draft, Entry, Head


class Store(Protocol):
    """The ledger of records.

    Rules:
    - Entries are only added, never changed or removed; what was returned does not change under later writes.
    - The sender chooses an entry's id. The same entry sent again is the entry already held, and nothing is added;
      another entry under an id already used is a `DataError` (`store.entry-clash`).
    - `seq` counts 1, 2, 3 … within a record, in the order the entries were accepted, also when several write at once.
    - One call is one transaction: it is kept whole or not at all.
    - A record's tree comes back with its keys in the order they were put.
    - What does not exist is a `DataError`: `store.unknown-record`, `store.unknown-entry`.
    """

    def put_record(self, tree: Mapping[str, Any], *, entry: UUID, at: datetime, by: str | None = None) -> Entry:
        """Make `tree` the record's present state; if it is so already, add nothing. Give the entry that holds it."""

    def append(self, draft: Draft) -> Entry:
        """Add an entry to the ledger of a record that is held."""

    def records(self) -> tuple[Head, ...]:
        """Heads of all records, by id."""

    def record(self, record: str) -> dict[str, Any]:
        """Present tree of a record."""

    def entries(self, record: str) -> tuple[Entry, ...]:
        """Whole ledger of a record, oldest first: its history."""

    def close(self) -> None:
        """Let go of files and connections."""
