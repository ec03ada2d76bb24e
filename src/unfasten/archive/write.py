"""Writing an archive: the same record gives the same bytes, and a file is there whole or not at all."""

from __future__ import annotations

import hashlib
import zipfile
import zlib
from collections.abc import Callable, Sequence
from typing import IO, Final

from unfasten.archive.contents import photos_named, record_text
from unfasten.archive.layout import (
    ENTRIES_LIMIT,
    FILES_LIMIT,
    LEDGER,
    MANIFEST,
    PHOTOS,
    RATIO_FROM,
    RATIO_LIMIT,
    TOTAL_LIMIT,
    Line,
    PhotoLine,
    limit_of,
)
from unfasten.archive.ledgerfile import write_ledger, write_photos
from unfasten.archive.manifest import Manifest
from unfasten.evidence.errors import DataError
from unfasten.record.ledger import fold

#: media type -> ending of the file name
_ENDINGS: Final = {
    "image/jpeg": ".jpg",
    "image/png": ".png",
    "image/heic": ".heic",
    "image/heif": ".heif",
    "image/webp": ".webp",
}
#: zip keeps a time with each file; ours says nothing
_NO_TIME: Final = (1980, 1, 1, 0, 0, 0)


def write_archive(
    stream: IO[bytes],
    lines: Sequence[Line],
    photos: Sequence[PhotoLine],
    read_photo: Callable[[str], bytes],
    *,
    made: str,
    program: str,
) -> Manifest:
    """Write an archive of a whole ledger to a file that can be sought; give its manifest.

    `photos` are those that the workspace holds of the ledger's photos; the others are listed as absent.
    """
    state = fold(lines)
    name, text = record_text(state.tree)
    held = sorted(photos, key=lambda photo: photo.sha256)
    texts = {LEDGER: write_ledger(lines), name: text, PHOTOS: write_photos(held)}
    names = {photo.sha256: f"photos/{photo.sha256}{_ENDINGS.get(photo.media_type, '')}" for photo in held}
    files = {one: (len(data), hashlib.sha256(data).hexdigest()) for one, data in texts.items()}
    files |= {names[photo.sha256]: (photo.size, photo.sha256) for photo in held}
    absent = tuple(sorted(set(photos_named(lines)) - set(names)))
    manifest = Manifest(lines[0].record, program, made, len(lines), absent, files)
    _check_size(manifest)
    with zipfile.ZipFile(stream, "w") as archive:
        for one, data in {MANIFEST: manifest.to_json(), **texts}.items():
            _add(archive, one, data, is_packed=not _packs_like_a_bomb(data))
        for photo in held:
            _add(archive, names[photo.sha256], read_photo(photo.sha256), is_packed=False)
    return manifest


def _check_size(manifest: Manifest) -> None:
    """Refuse to write what a reader would refuse to take."""
    over = [name for name, (size, _) in manifest.files.items() if size > limit_of(name)]
    total = sum(size for size, _ in manifest.files.values())
    if over or len(manifest.files) >= FILES_LIMIT or total > TOTAL_LIMIT or manifest.entries > ENTRIES_LIMIT:
        what = f"{over[0]} is too large" if over else "its files or entries are too many"
        remedy = "export the present state as YAML, and keep the workspace itself"
        raise DataError("archive.too-large", manifest.record, f"no archive can hold it: {what}", remedy)


def _packs_like_a_bomb(data: bytes) -> bool:
    """Tell whether a reader would take the packed data for a bomb; it is then stored as it is."""
    return len(data) > RATIO_FROM and len(data) > RATIO_LIMIT // 2 * len(zlib.compress(data, 1))


def _add(archive: zipfile.ZipFile, name: str, data: bytes, *, is_packed: bool) -> None:
    info = zipfile.ZipInfo(name, _NO_TIME)
    info.compress_type = zipfile.ZIP_DEFLATED if is_packed else zipfile.ZIP_STORED
    info.external_attr = 0o100644 << 16
    info.create_system = 3
    archive.writestr(info, data)
