"""Entries of the ledger and the line by which a record is listed: frozen values that no later write changes."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from unfasten.evidence.errors import DataError
from unfasten.record.entrybody import PUT_RECORD


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

    @property
    def tree(self) -> dict[str, Any]:
        """The body as a new tree, in the order it was written."""
        tree: dict[str, Any] = json.loads(self.body)
        return tree


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
        same = (self.record, self.kind, self.body) == (draft.record, draft.kind, draft.body)
        return same and (self.supersedes == draft.supersedes or self.kind == PUT_RECORD)


@dataclass(frozen=True, slots=True)
class Kept:
    """What became of a draft: the entry that holds it, and whether it was added now or held already.

    `clash` is the entry of another that had come between: it concerns the same thing, and the author had not seen it.
    Both stand in the ledger; the author is to be told.
    """

    entry: Entry
    is_new: bool
    clash: Entry | None = None


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
    sent = None if supersedes is None else str(supersedes)
    return Draft(str(entry), record, at.isoformat(), by, kind, body_of(body), sent)


def body_of(tree: Mapping[str, Any]) -> str:
    """Write a tree as the body of an entry, in its order."""
    return json.dumps(tree, ensure_ascii=False, separators=(",", ":"), allow_nan=False)


def placed(draft: Draft, seq: int) -> Entry:
    """Give a draft its place in the ledger."""
    return Entry(draft.id, draft.record, seq, draft.at, draft.by, draft.kind, draft.body, draft.supersedes)


def head_of(tree: Mapping[str, Any]) -> Head:
    """Give the head of a record's tree; what a draft does not say yet is empty."""
    product = tree["product"]
    edition = tree.get("sheet", {}).get("edition", 1)
    name, maker, category = (str(product.get(key, "")) for key in ("name", "maker", "category"))
    return Head(product["id"], name, maker, category, edition if isinstance(edition, int) else 1)


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
