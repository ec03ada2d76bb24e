"""Beginning a record: the product and the part that stays."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any
from uuid import UUID

from unfasten.evidence.errors import DataError
from unfasten.record.record import FORMAT
from unfasten.store.contract import Store
from unfasten.store.entry import Entry


def begin_record(store: Store, new: Mapping[str, Any], *, entry: UUID, at: datetime, by: str | None) -> Entry:
    """Put a new record: `new` has id, name, maker, category, frame and survey, and may have a predecessor.

    Raises `DataError` (`bench.record-exists`) if the workspace holds a record of this id.
    """
    name = new["id"]
    if name in {head.id for head in store.records()}:
        raise DataError("bench.record-exists", name, "the workspace holds this record already", "choose another id")
    product = {key: new[key] for key in ("id", "name", "maker", "category", "predecessor") if new.get(key)}
    frame = new["frame"]
    tree = {
        "format": FORMAT,
        "product": product,
        "setup": {"survey": new["survey"]},
        "parts": {frame: {"name": frame.replace("-", " ").capitalize(), "stays": True}},
        "joints": {},
    }
    return store.put_record(tree, entry=entry, at=at, by=by)
