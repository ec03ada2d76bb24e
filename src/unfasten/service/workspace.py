"""The workspace: a folder with the ledger (an embedded database) and what is written from it."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Final
from uuid import uuid4

from unfasten.evidence.errors import CallError

if TYPE_CHECKING:
    from unfasten.record.record import Record
    from unfasten.store.contract import Store

LEDGER: Final = "ledger.sqlite"


@dataclass(frozen=True, slots=True)
class Workspace:
    """An open workspace."""

    folder: Path
    store: Store

    @property
    def reports(self) -> Path:
        """Folder of the reports."""
        return self.folder / "reports"

    def put(self, record: Record, at: datetime, by: str | None = None) -> bool:
        """Make `record` the present state of its ledger; tell whether that added an entry."""
        tree = record.model_dump(mode="json", by_alias=True, exclude_unset=True)
        sent = uuid4()
        return self.store.put_record(tree, entry=sent, at=at, by=by).id == str(sent)

    def record(self, record: str) -> Record:
        """Read a record from its ledger; `DataError` if the workspace does not hold it."""
        from unfasten.record.record import Record

        return Record.model_validate(self.store.record(record))


@contextmanager
def open_workspace(folder: Path, at: datetime) -> Iterator[Workspace]:
    """Open the workspace in `folder`, making it if need be; `at` is noted beside migrations."""
    from sqlalchemy import URL

    from unfasten.store.database import open_database

    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise CallError(
            "workspace.folder", str(folder), error.strerror or str(error), "name a folder that can be written"
        ) from error
    store = open_database(URL.create("sqlite", database=str((folder / LEDGER).absolute())), at)
    try:
        yield Workspace(folder, store)
    finally:
        store.close()
