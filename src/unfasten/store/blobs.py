"""Files of photos, named by the SHA-256 of their bytes; a file is there whole and flushed to disk, or not at all.

How the web room uses it: `put(bytes)` before the entry that names the photo; serve `path(sha256)`; `get` reads a file
and checks that its bytes are still those of its name.
"""

from __future__ import annotations

import errno
import hashlib
import os
import tempfile
from pathlib import Path
from typing import Final

from unfasten.evidence.errors import DataError
from unfasten.store.photo import check_sha256, unknown_photo

_FULL: Final = (errno.ENOSPC, errno.EDQUOT, errno.EFBIG)
_READ_ONLY: Final = (errno.EROFS, errno.EACCES, errno.EPERM)


class Blobs:
    """Files below a folder, which is made with the first of them."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def __contains__(self, sha256: object) -> bool:
        """Tell whether a file is held."""
        return isinstance(sha256, str) and self.path(sha256).is_file()

    def path(self, sha256: str) -> Path:
        """Where a file is, or would be; `DataError` for a name that is no SHA-256."""
        return self.folder / check_sha256(sha256)[:2] / sha256

    def put(self, data: bytes) -> str:
        """Keep bytes and give their SHA-256; on return they are on disk. The same bytes again are the same file."""
        sha256 = hashlib.sha256(data).hexdigest()
        path = self.path(sha256)
        try:
            if path.is_file():
                _flush_folder(path.parent)  # who put it may have been stopped, or may be about to do so
                return sha256
            _make_folder(path.parent)
            _write(path, data)
        except OSError as error:
            raise _explained(error, path) from error
        return sha256

    def get(self, sha256: str) -> bytes:
        """Bytes of a file; `DataError` if it is not held, or no longer what it was."""
        path = self.path(sha256)
        try:
            data = path.read_bytes()
        except FileNotFoundError as error:
            raise unknown_photo(sha256) from error
        except OSError as error:
            raise _explained(error, path) from error
        if hashlib.sha256(data).hexdigest() != sha256:
            message = "the file is no longer what was put there"
            raise DataError("store.damaged-photo", str(path), message, "bring it back from an archive or a backup")
        return data


def _make_folder(folder: Path) -> None:
    if folder.is_dir():
        return
    if not folder.parent.is_dir():
        _make_folder(folder.parent)
    folder.mkdir(exist_ok=True)
    _flush_folder(folder.parent)


def _write(path: Path, data: bytes) -> None:
    handle, name = tempfile.mkstemp(dir=path.parent, prefix=".", suffix=".part")
    part = Path(name)
    try:
        with os.fdopen(handle, "wb") as stream:
            stream.write(data)
            stream.flush()
            os.fsync(stream.fileno())
        part.replace(path)
    finally:
        part.unlink(missing_ok=True)
    _flush_folder(path.parent)


def _flush_folder(folder: Path) -> None:
    """Flush a folder's list of names, where the system can."""
    if not hasattr(os, "O_DIRECTORY"):
        return
    handle = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def _explained(error: OSError, path: Path) -> DataError:
    why = (error.strerror or str(error)).lower()
    if error.errno in _FULL:
        return DataError("store.disk-full", str(path), f"{why}; nothing of this was kept", "make room, then try again")
    if error.errno in _READ_ONLY:
        remedy = "give the program the right to write there"
        return DataError("store.read-only", str(path), f"{why}; nothing of this was kept", remedy)
    return DataError("store.unusable", str(path), why, "check the folder of the workspace and its disk")
