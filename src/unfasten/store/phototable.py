"""What is known of photo files, in a database."""

from __future__ import annotations

from dataclasses import asdict, fields
from typing import Final

import sqlalchemy as sa

from unfasten.store.engine import transaction
from unfasten.store.photo import PhotoFile, check_sha256, unknown_photo

PHOTO: Final = sa.table("photo", *(sa.column(field.name) for field in fields(PhotoFile)))


class PhotoTable:
    """Keeps the contract `Photos`."""

    def __init__(self, engine: sa.Engine) -> None:
        self._engine = engine

    def add(self, photo: PhotoFile) -> PhotoFile:
        """Note a file; give what is held of it."""
        names = ", ".join(column.name for column in PHOTO.c)
        values = ", ".join(f":{column.name}" for column in PHOTO.c)
        insert = sa.text(f"insert into photo ({names}) values ({values}) on conflict (sha256) do nothing")
        with transaction(self._engine) as tx:
            tx.execute(insert, asdict(photo) | {"sha256": check_sha256(photo.sha256)})
        return self.get(photo.sha256)

    def get(self, sha256: str) -> PhotoFile:
        """What is held of a file."""
        with transaction(self._engine, reading=True) as tx:
            row = tx.execute(sa.select(*PHOTO.c).where(PHOTO.c.sha256 == sha256)).first()
        if row is None:
            raise unknown_photo(sha256)
        return PhotoFile(*row)

    def all(self) -> tuple[PhotoFile, ...]:
        """All files, by SHA-256."""
        with transaction(self._engine, reading=True) as tx:
            return tuple(PhotoFile(*row) for row in tx.execute(sa.select(*PHOTO.c).order_by(PHOTO.c.sha256)))
