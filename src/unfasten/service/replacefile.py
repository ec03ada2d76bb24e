"""Replacing a file as a whole."""

from __future__ import annotations

import os
import shutil
import tempfile
from pathlib import Path

from unfasten.evidence.errors import DataError


def replace_file(path: Path, data: bytes, like: Path) -> None:
    """Write beside the file, then put in its place: nobody ever sees half a file.

    A new file gets the permissions of `like`. Raises `DataError` where it cannot be written.
    """
    try:
        handle, name = tempfile.mkstemp(prefix=f".{path.name}.", dir=path.parent)
        try:
            with os.fdopen(handle, "wb") as stream:
                stream.write(data)
                stream.flush()
                os.fsync(stream.fileno())
            shutil.copymode(path if path.exists() else like, name)
            Path(name).replace(path)
        except OSError:
            Path(name).unlink(missing_ok=True)
            raise
    except OSError as error:
        why = (error.strerror or "it cannot be written").lower()
        raise DataError("answer.cannot-write", str(path), why, "name another file with -o") from error
