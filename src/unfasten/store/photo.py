"""What is known of a photo's file."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Final

from unfasten.evidence.errors import DataError

_SHA256: Final = re.compile(r"[0-9a-f]{64}")


@dataclass(frozen=True, slots=True)
class PhotoFile:
    """A photo's file: SHA-256, media type, size as stored [pixel] and [byte].

    `orientation` is the Exif tag 0x0112 (1 … 8; JEITA CP-3451, from memory), `taken` the capture time as the camera
    wrote it (ISO 8601, without offset if the camera gave none), `name` what the file was called where it came from.
    None is not known.
    """

    sha256: str
    media_type: str
    width: int | None
    height: int | None
    orientation: int | None
    taken: str | None
    size: int
    name: str | None


def check_sha256(text: str) -> str:
    """Give the text if it is a SHA-256 in lower-case hexadecimal, else raise `DataError`."""
    if not _SHA256.fullmatch(text):
        remedy = "give 64 hexadecimal digits"
        raise DataError("store.bad-name", text[:80], "this is no SHA-256", remedy)
    return text


def unknown_photo(sha256: str) -> DataError:
    """Make the error for a file that is not held."""
    return DataError("store.unknown-photo", sha256, "the workspace holds no such photo", "add the photo first")
