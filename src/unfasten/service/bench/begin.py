"""Beginning a record: the product and the part that stays."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any
from uuid import NAMESPACE_URL, uuid5

from unfasten.evidence.errors import DataError
from unfasten.record.record import FORMAT
from unfasten.store.contract import Store
from unfasten.store.entry import Entry


def begin_record(store: Store, new: Mapping[str, Any], *, at: datetime, by: str | None) -> Entry:
    """Put a new record: `new` has id, name, maker, category, frame and survey, and may have a predecessor.

    Raises `DataError` (`bench.record-exists`) if the workspace holds a record of this id. The first entry is named
    after the record, so that of two who begin it at the same moment one does.
    """
    name = new["id"]
    if name in {head.id for head in store.records()}:
        raise _exists(name)
    product = {key: new[key] for key in ("id", "name", "maker", "category", "predecessor") if new.get(key)}
    frame = new["frame"]
    tree = {
        "format": FORMAT,
        "product": product,
        "setup": {"survey": new["survey"]},
        "parts": {frame: {"name": frame.replace("-", " ").capitalize(), "stays": True}},
        "joints": {},
    }
    try:
        return store.put_record(tree, entry=uuid5(NAMESPACE_URL, f"unfasten-record:{name}"), at=at, by=by)
    except DataError as error:
        raise _exists(name) if error.code == "store.entry-clash" else error from error


def _exists(name: str) -> DataError:
    return DataError("bench.record-exists", name, "the workspace holds this record already", "choose another id")
