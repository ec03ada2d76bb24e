"""What an archive holds, once it is read; and how its record stands in it as text."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any, BinaryIO

from unfasten.archive.layout import PHOTO_LIMIT, RECORD_JSON, RECORD_YAML, Line, PhotoLine
from unfasten.archive.members import Member
from unfasten.archive.strictjson import NotStrict, strict_json
from unfasten.archive.unpack import CannotUnpack, unpack
from unfasten.evidence.datafile import read_data
from unfasten.evidence.errors import DataError
from unfasten.record.entrybody import PUT, PUT_RECORD
from unfasten.record.finding import Finding
from unfasten.record.write import tree_to_yaml


@dataclass(frozen=True, slots=True)
class Archive:
    """A read archive. `lines` are the ledger, `tree` its fold; `absent` are photos it says it lacks.

    A recovered one tells in `repairs` what was done to it; `restored` is then the record as its text has it, where
    the ledger does not reach that far any more.
    """

    record: str
    lines: tuple[Line, ...]
    tree: Mapping[str, Any]
    photos: tuple[PhotoLine, ...]
    absent: tuple[str, ...]
    stream: BinaryIO
    members: Mapping[str, Member]
    repairs: tuple[Finding, ...] = field(default=())
    restored: Mapping[str, Any] | None = None

    def photo(self, sha256: str) -> bytes:
        """Bytes of a photo; `DataError` if the file was changed since it was checked."""
        try:
            data = unpack(self.stream, self.members[sha256], PHOTO_LIMIT)
        except CannotUnpack as reason:
            raise _changed(sha256) from reason
        if hashlib.sha256(data).hexdigest() != sha256:
            raise _changed(sha256)
        return data


def _changed(sha256: str) -> DataError:
    message = "the archive was changed while it was read"
    return DataError("archive.changed", f"photos/{sha256}", message, "import it again")


def record_text(tree: Mapping[str, Any]) -> tuple[str, bytes]:
    """Give name and bytes of the file that holds a record's tree: YAML, or JSON where YAML could not hold it."""
    text = tree_to_yaml(tree).encode("utf-8")
    if read_record_text(RECORD_YAML, text) == tree:
        return RECORD_YAML, text
    return RECORD_JSON, json.dumps(tree, indent=1, ensure_ascii=False, allow_nan=False).encode()


def read_record_text(name: str, data: bytes) -> Any:
    """Read the file that holds a record's tree; None if it cannot be read."""
    if name == RECORD_YAML:
        document = read_data(data, name)
        return None if document.problems else document.value
    try:
        return strict_json(data)
    except NotStrict:
        return None


def photos_named(lines: Iterable[Line]) -> tuple[str, ...]:
    """Give the SHA-256 of every photo that a ledger names anywhere in its past, in order of their first naming."""
    found: dict[str, None] = {}
    for line in lines:
        body = line.tree
        if line.kind == PUT_RECORD:
            photos = body.get("photos", {})
            nodes = list(photos.values()) if isinstance(photos, dict) else []
        else:
            nodes = [body.get("value")] if line.kind == PUT and str(body.get("at")).startswith("photos.") else []
        files = (node.get("file") for node in nodes if isinstance(node, dict))
        found.update((name, None) for name in files if isinstance(name, str))
    return tuple(found)
