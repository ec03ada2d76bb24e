"""Whatever is changed in an archive, reading refuses it or gives exactly what was there; nothing else happens."""

from __future__ import annotations

import io
import struct
import zlib

from hypothesis import given, settings
from hypothesis import strategies as st

from support.raw_zip import PHOTO, SHA256, RawFile, RawZip, archive, raw_files
from unfasten.archive.contents import Archive
from unfasten.archive.layout import ArchiveInvalid
from unfasten.archive.read import read_archive
from unfasten.archive.recover import recover_archive

PACKED = RawZip([RawFile(one.name, one.data, 8) for one in raw_files()]).to_bytes()
GOODS = (archive(), PACKED)

cuts = st.tuples(st.floats(0, 1), st.binary(max_size=6), st.integers(0, 6))
numbers = st.sampled_from([0, 1, 0xFF, 0xFFFF, 0xFFFFFFFF, 0x80000000, 0xFFFFFFFE])


def told(found: Archive) -> tuple[object, ...]:
    """What an archive gives."""
    photos = {photo.sha256: found.photo(photo.sha256) for photo in found.photos}
    return found.record, found.lines, found.tree, found.photos, found.absent, photos


WANTED = [told(read_archive(io.BytesIO(good), len(good), "a.zip")) for good in GOODS]


def check(data: bytes, wanted: tuple[object, ...]) -> None:
    """Read strictly and recover."""
    try:
        found = told(read_archive(io.BytesIO(data), len(data), "a.zip"))
    except ArchiveInvalid as refused:
        found = None
        assert all(str(finding).isprintable() for finding in refused.findings)  # noqa: PT017 - both outcomes count
    assert found is None or found == wanted
    try:
        saved = recover_archive(io.BytesIO(data), len(data), "a.zip")
    except ArchiveInvalid:
        return
    assert saved.record == "lamp"
    assert found is not None or saved.repairs
    assert all(saved.photo(photo.sha256) == PHOTO and photo.sha256 == SHA256 for photo in saved.photos)


@given(st.integers(0, 1), st.lists(cuts, min_size=1, max_size=3))
@settings(max_examples=400, deadline=None)
def test_bytes_put_in_taken_out_or_changed(which: int, changes: list[tuple[float, bytes, int]]) -> None:
    data = GOODS[which]
    for where, new, out in changes:
        place = int(where * len(data))
        data = data[:place] + new + data[place + out :]
    check(data, WANTED[which])


@given(st.integers(0, 1), st.integers(0, 400), numbers)
@settings(max_examples=400, deadline=None)
def test_numbers_of_the_directory_changed(which: int, back: int, number: int) -> None:
    good = GOODS[which]
    place = max(0, len(good) - 4 - back)
    check(good[:place] + struct.pack("<L", number) + good[place + 4 :], WANTED[which])


@given(st.integers(0, 1), st.floats(0, 1))
@settings(max_examples=100, deadline=None)
def test_an_archive_cut_off_anywhere(which: int, where: float) -> None:
    good = GOODS[which]
    cut = good[: int(where * (len(good) - 1))]
    assert zlib.crc32(cut) != zlib.crc32(good)
    check(cut, WANTED[which])
