"""What is in an archive and how much of it there may be.

An archive is a zip file (PKWARE's application note APPNOTE.TXT, from memory: the structures named in `members`) with

=====================  ==============================================================================================
`manifest.json`        format, record, number of entries, and each other file with its size [byte] and SHA-256
`ledger.jsonl`         the ledger, an entry a line, oldest first
`record.yaml`          the present record, for people (`record.json` where YAML could not hold it exactly)
`photos.json`          what is known of the photo files
`photos/SHA256.EXT`    the photo files
=====================  ==============================================================================================
"""

from __future__ import annotations

import json
import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final

from unfasten.evidence.errors import DataError
from unfasten.record.finding import Finding

FORMAT: Final = "unfasten-archive/1"
MANIFEST: Final = "manifest.json"
LEDGER: Final = "ledger.jsonl"
RECORD_YAML: Final = "record.yaml"
RECORD_JSON: Final = "record.json"
PHOTOS: Final = "photos.json"
PHOTO: Final = re.compile(r"photos/([0-9a-f]{64})(\.[a-z0-9]{1,8})?")

#: most files in an archive
FILES_LIMIT: Final = 5_000
#: largest text file, photo and whole content [byte]
TEXT_LIMIT: Final = 64 * 1024 * 1024
PHOTO_LIMIT: Final = 256 * 1024 * 1024
TOTAL_LIMIT: Final = 16 * 1024**3
#: from this size on [byte], a file that unpacks to more than so many times its packed size is refused
RATIO_FROM: Final = 1024 * 1024
RATIO_LIMIT: Final = 200
#: deepest nesting of a text file
DEPTH_LIMIT: Final = 80
#: most entries of a ledger
ENTRIES_LIMIT: Final = 100_000


@dataclass(frozen=True, slots=True)
class Line:
    """An entry of the ledger as an archive holds it; `body` is JSON text."""

    id: str
    record: str
    seq: int
    at: str
    by: str | None
    kind: str
    body: str
    supersedes: str | None

    @property
    def tree(self) -> dict[str, Any]:
        """The body as a new tree."""
        tree: dict[str, Any] = json.loads(self.body)
        return tree


@dataclass(frozen=True, slots=True)
class PhotoLine:
    """What an archive says of a photo file: as `store.photo.PhotoFile`; None is not known."""

    sha256: str
    media_type: str
    width: int | None
    height: int | None
    orientation: int | None
    taken: str | None
    size: int
    name: str | None


class ArchiveInvalid(DataError):  # noqa: N818 - names the outcome
    """The archive is not taken; `findings` say all that is wrong with it."""

    def __init__(self, name: str, findings: Sequence[Finding]) -> None:
        self.findings = tuple(findings)
        count = f"{len(findings)} error{'' if len(findings) == 1 else 's'} in the archive, nothing was taken from it"
        remedy = "export it again, or take what can be saved with 'unfasten import --recover'"
        super().__init__("archive.invalid", name, count, remedy)

    def __str__(self) -> str:
        """List every error, and below them the sentence that counts them."""
        return "\n".join([*(f"  {finding}" for finding in self.findings), super().__str__()])

    def as_json(self) -> dict[str, object]:
        """Give the JSON error shape with all findings."""
        return super().as_json() | {"findings": [finding.as_json() for finding in self.findings]}


def limit_of(name: str) -> int:
    """Largest size of a file by its name [byte]."""
    return PHOTO_LIMIT if PHOTO.fullmatch(name) else TEXT_LIMIT


def is_known(name: str) -> bool:
    """Tell whether the format has a file of that name."""
    return name in (MANIFEST, LEDGER, RECORD_YAML, RECORD_JSON, PHOTOS) or PHOTO.fullmatch(name) is not None


def error(code: str, at: str, message: str, remedy: str = "export the archive again") -> Finding:
    """Make a finding that keeps an archive from being taken."""
    return Finding("error", code, at, message, remedy)
