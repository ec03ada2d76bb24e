"""The workspace: a folder with the ledger (an embedded database) and what is written from it.

In a lab the ledger is in the PostgreSQL database that `UNFASTEN_DB` names; the folder then holds photos and reports.
How the web room uses it: one open workspace per process, shared by its threads: `store` for entries, `photos` for the
bytes of photos, `add_photo` for a new one.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Final
from uuid import uuid4

from unfasten.evidence.errors import CallError
from unfasten.service.settings import database_url

if TYPE_CHECKING:
    from unfasten.record.record import Record
    from unfasten.store.blobs import Blobs
    from unfasten.store.contract import Store
    from unfasten.store.photo import PhotoFile

LEDGER: Final = "ledger.sqlite"
PHOTOS: Final = "photos"


@dataclass(frozen=True, slots=True)
class Workspace:
    """An open workspace."""

    folder: Path
    store: Store
    photos: Blobs

    @property
    def reports(self) -> Path:
        """Folder of the reports."""
        return self.folder / "reports"

    def put(self, record: Record, at: datetime, by: str | None = None) -> bool:
        """Make `record` the present state of its ledger; tell whether that added an entry."""
        tree = record.model_dump(mode="json", by_alias=True, exclude_unset=True)
        sent = uuid4()
        return self.store.put_record(tree, entry=sent, at=at, by=by).id == str(sent)

    def add_photo(self, data: bytes, photo: PhotoFile) -> PhotoFile:
        """Keep a photo's bytes, then note what is known of them; give what is held of the file."""
        if self.photos.put(data) != photo.sha256:
            raise ValueError("the bytes are not those that the photo's SHA-256 names")
        return self.store.photos.add(photo)

    def record(self, record: str) -> Record:
        """Read a record from its ledger; `DataError` if the workspace does not hold it."""
        from unfasten.record.record import Record

        return Record.model_validate(self.store.record(record))


@contextmanager
def open_workspace(folder: Path, at: datetime, database: str | None = None) -> Iterator[Workspace]:
    """Open the workspace in `folder`, making it if need be; `at` is noted beside migrations.

    The ledger is in `database` (`postgresql://…`), else in what `UNFASTEN_DB` names, else in a file of the folder.
    """
    from sqlalchemy import URL

    from unfasten.store.blobs import Blobs
    from unfasten.store.database import open_database

    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise CallError(
            "workspace.folder", str(folder), error.strerror or str(error), "name a folder that can be written"
        ) from error
    own = URL.create("sqlite", database=str((folder / LEDGER).absolute()))
    store = open_database(database or database_url() or own, at)
    try:
        yield Workspace(folder, store, Blobs(folder / PHOTOS))
    finally:
        store.close()
