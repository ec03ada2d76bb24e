"""Photo files: named by their bytes, whole or not there, and checked when read."""

from __future__ import annotations

import errno
import hashlib
import os
from pathlib import Path

import pytest

from unfasten.evidence.errors import DataError
from unfasten.store.blobs import Blobs

DATA = b"\xff\xd8 a photo"
NAME = hashlib.sha256(DATA).hexdigest()


def files(folder: Path) -> list[str]:
    """Names of all files below a folder, hidden ones too."""
    return sorted(path.name for path in folder.rglob("*") if path.is_file())


def test_bytes_come_back_by_their_hash(tmp_path: Path) -> None:
    blobs = Blobs(tmp_path / "ws" / "photos")
    assert NAME not in blobs
    assert blobs.put(DATA) == blobs.put(DATA) == NAME
    assert NAME in blobs
    assert blobs.get(NAME) == DATA
    assert files(tmp_path) == [NAME]


def test_what_is_not_there_or_ill_named_is_an_error(tmp_path: Path) -> None:
    blobs = Blobs(tmp_path)
    for name, code in ((NAME, "store.unknown-photo"), ("../../etc/passwd", "store.bad-name")):
        with pytest.raises(DataError) as caught:
            blobs.get(name)
        assert caught.value.code == code


def test_a_damaged_file_is_told(tmp_path: Path) -> None:
    blobs = Blobs(tmp_path)
    blobs.path(blobs.put(DATA)).write_bytes(DATA[:-1])
    with pytest.raises(DataError) as caught:
        blobs.get(NAME)
    assert caught.value.code == "store.damaged-photo"


@pytest.mark.parametrize(
    ("number", "code"),
    [(errno.ENOSPC, "store.disk-full"), (errno.EROFS, "store.read-only"), (errno.EIO, "store.unusable")],
)
def test_a_disk_that_fails_leaves_nothing(
    number: int, code: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(_handle: int) -> None:
        raise OSError(number, os.strerror(number))

    blobs = Blobs(tmp_path)
    (tmp_path / NAME[:2]).mkdir()
    monkeypatch.setattr("os.fsync", fail)
    with pytest.raises(DataError) as caught:
        blobs.put(DATA)
    assert caught.value.code == code
    assert files(tmp_path) == []
    assert NAME not in blobs


def test_a_file_takes_its_name_only_when_it_is_on_disk(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    blobs = Blobs(tmp_path)
    flushed: list[tuple[bool, int, int]] = []

    def look(handle: int) -> None:
        flushed.append((NAME in blobs, os.fstat(handle).st_size, os.fstat(handle).st_ino))

    monkeypatch.setattr("os.fsync", look)
    blobs.put(DATA)
    named = [line[0] for line in flushed]
    assert named == sorted(named)
    this = blobs.path(NAME).stat().st_ino
    assert (False, len(DATA), this) in flushed, "flushed whole before it has its name"
    assert flushed[-1][0], "and the folder afterwards"
