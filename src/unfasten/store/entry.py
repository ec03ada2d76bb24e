"""Entries of the ledger and the line by which a record is listed: frozen values that no later write changes."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final
from uuid import UUID

from unfasten.evidence.errors import DataError

#: kind of the entry that holds a whole record
PUT_RECORD: Final = "put-record"


@dataclass(frozen=True, slots=True)
class Draft:
    """An entry before the store gives it its place. `id` is a UUID chosen by the sender; `body` is JSON text."""

    id: str
    record: str
    at: str
    by: str | None
    kind: str
    body: str
    supersedes: str | None = None


@dataclass(frozen=True, slots=True)
class Entry:
    """An entry of the ledger: `seq` counts from 1 within its record, `at` is ISO 8601 with offset."""

    id: str
    record: str
    seq: int
    at: str
    by: str | None
    kind: str
    body: str
    supersedes: str | None

    @property
    def tree(self) -> dict[str, Any]:
        """The body as a new tree, in the order it was written."""
        tree: dict[str, Any] = json.loads(self.body)
        return tree

    def same_as(self, draft: Draft) -> bool:
        """Tell whether a draft with this id says the same (the time of sending aside)."""
        return (self.record, self.kind, self.body) == (draft.record, draft.kind, draft.body)


@dataclass(frozen=True, slots=True)
class Head:
    """What a list of records shows of one record."""

    id: str
    name: str
    maker: str
    category: str
    edition: int


def draft_of(
    record: str,
    kind: str,
    body: Mapping[str, Any],
    *,
    entry: UUID,
    at: datetime,
    by: str | None = None,
    supersedes: UUID | None = None,
) -> Draft:
    """Make the draft of an entry; `at` must carry its offset. Key order is kept: it is the order of the record."""
    if at.tzinfo is None:
        raise ValueError("the time of an entry needs its offset from UTC")
    text = json.dumps(body, ensure_ascii=False, separators=(",", ":"), allow_nan=False)
    return Draft(str(entry), record, at.isoformat(), by, kind, text, None if supersedes is None else str(supersedes))


def put_draft(
    record: str, tree: Mapping[str, Any], held: Entry | None, *, entry: UUID, at: datetime, by: str | None
) -> Draft:
    """Make the draft of an entry that puts a whole record in place of the one `held`."""
    supersedes = None if held is None else UUID(held.id)
    return draft_of(record, PUT_RECORD, tree, entry=entry, at=at, by=by, supersedes=supersedes)


def placed(draft: Draft, seq: int) -> Entry:
    """Give a draft its place in the ledger."""
    return Entry(draft.id, draft.record, seq, draft.at, draft.by, draft.kind, draft.body, draft.supersedes)


def head_of(tree: Mapping[str, Any]) -> Head:
    """Give the head of a record's tree."""
    product = tree["product"]
    edition = tree.get("sheet", {}).get("edition", 1)
    return Head(product["id"], product["name"], product["maker"], product["category"], edition)


def refuse_put(draft: Draft) -> None:
    """Raise `ValueError` for a whole record sent as a plain entry: its head would not follow."""
    if draft.kind == PUT_RECORD:
        raise ValueError("a whole record is put with put_record")


def unknown_record(record: str) -> DataError:
    """Make the error for a record that the store does not hold."""
    return DataError(
        "store.unknown-record", record, "the workspace holds no such record", "list what it holds, or put the record"
    )


def refuse_clash(held: Entry, draft: Draft) -> Entry:
    """Give the entry that is held already if the draft repeats it; raise `DataError` if it says something else."""
    if held.same_as(draft):
        return held
    raise DataError(
        "store.entry-clash", draft.id, "another entry has this id already", "send the entry again with an id of its own"
    )


def unknown_entry(entry: str) -> DataError:
    """Make the error for an entry that is to be superseded but is not in the record's ledger."""
    return DataError(
        "store.unknown-entry", entry, "the record's ledger has no such entry", "name an entry of the same record"
    )
