"""Zips written byte by byte, so that they can be wrong in any way."""

from __future__ import annotations

import hashlib
import json
import struct
import zlib
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

from unfasten.archive.layout import FORMAT

ENTRY = "00000000-0000-4000-8000-{:012d}"
TREE: dict[str, Any] = {
    "format": "unfasten-record/1",
    "product": {"id": "lamp", "name": "Lamp", "maker": "Fellwright", "category": "other"},
    "parts": {"stand": {"name": "Stand", "stays": True}},
    "joints": {},
}
PHOTO = b"\xff\xd8 a photo of the lamp"
SHA256 = hashlib.sha256(PHOTO).hexdigest()
PHOTO_NAME = f"photos/{SHA256}.jpg"


@dataclass
class RawFile:
    """A file of a zip; what is None follows from the data."""

    name: bytes | str
    data: bytes
    method: int = 0
    flags: int = 0x0800
    mode: int = 0o100644
    packed: bytes | None = None
    size: int | None = None
    crc: int | None = None
    local_name: bytes | str | None = None
    local_size: int | None = None
    gap: bytes = b""


@dataclass
class RawZip:
    """A zip; what is None follows from the files."""

    files: Sequence[RawFile]
    before: bytes = b""
    after: bytes = b""
    comment: bytes = b""
    count: int | None = None
    spare: bytes = b""
    tail: bytes = b""
    overlap: bool = False
    offsets: list[int] = field(default_factory=list)

    def to_bytes(self) -> bytes:
        """Write it."""
        out, directory = self.before, b""
        for one in self.files:
            name = one.name.encode() if isinstance(one.name, str) else one.name
            local = one.local_name if one.local_name is not None else name
            local = local.encode() if isinstance(local, str) else local
            packed = one.packed if one.packed is not None else _pack(one)
            crc = zlib.crc32(one.data) if one.crc is None else one.crc
            size = len(one.data) if one.size is None else one.size
            out += one.gap
            offset = 0 if self.overlap else len(out)
            inner = size if one.local_size is None else one.local_size
            head = (20, one.flags, one.method, 0, 33, crc, len(packed))
            out += struct.pack("<4s5H3L2H", b"PK\3\4", *head, inner, len(local), 0) + local + packed
            directory += struct.pack("<4s6H3L5H2L", b"PK\1\2", 0x0314, *head, size, len(name), 0, 0, 0, 0,
                                     one.mode << 16, offset) + name  # fmt: skip
        directory += self.spare
        out += self.tail
        count = len(self.files) if self.count is None else self.count
        end = struct.pack("<4s4H2LH", b"PK\5\6", 0, 0, count, count, len(directory), len(out), len(self.comment))
        return out + directory + end + self.comment + self.after


def _pack(one: RawFile) -> bytes:
    if one.method != 8:
        return one.data
    deflate = zlib.compressobj(9, zlib.DEFLATED, -zlib.MAX_WBITS)
    return deflate.compress(one.data) + deflate.flush()


def ledger(*bodies: tuple[str, dict[str, Any]], **more: Any) -> bytes:
    """A ledger that begins with the lamp; each further entry is kind and body."""
    out = b""
    for number, (kind, body) in enumerate([("put-record", TREE), *bodies], 1):
        line = {"id": ENTRY.format(number), "record": "lamp", "seq": number, "at": "2026-04-01T09:00:00+00:00",
                "by": "ada", "kind": kind, "supersedes": None, "body": body}  # fmt: skip
        out += json.dumps({**line, **(more if number > 1 else {})}).encode() + b"\n"
    return out


def photo_list(**more: Any) -> bytes:
    """What is known of the photo."""
    line = {"sha256": SHA256, "media_type": "image/jpeg", "width": 4, "height": 3, "orientation": 1, "taken": None,
            "size": len(PHOTO), "name": "1.jpg"}  # fmt: skip
    return json.dumps([{**line, **more}]).encode()


def good_files() -> dict[str, bytes]:
    """The files of a good archive with one photo, without its manifest."""
    named = ("put", {"at": "photos.p-1", "value": {"file": SHA256}})
    tree = {**TREE, "photos": {"p-1": {"file": SHA256}}}
    return {
        "ledger.jsonl": ledger(named),
        "record.json": json.dumps(tree).encode(),
        "photos.json": photo_list(),
        PHOTO_NAME: PHOTO,
    }


def manifest(files: dict[str, bytes], **more: Any) -> bytes:
    """The manifest of files."""
    listed = [{"name": n, "size": len(d), "sha256": hashlib.sha256(d).hexdigest()} for n, d in files.items()]
    tree = {"format": FORMAT, "record": "lamp", "program": "test", "made": "2026-04-01T09:00:00+00:00",
            "entries": files.get("ledger.jsonl", b"").count(b"\n"), "absent": [], "files": listed}  # fmt: skip
    return json.dumps({**tree, **more}).encode()


def raw_files(files: dict[str, bytes] | None = None, **more: Any) -> list[RawFile]:
    """Raw files of an archive, the manifest first."""
    files = good_files() if files is None else files
    return [RawFile("manifest.json", manifest(files, **more)), *(RawFile(n, d) for n, d in files.items())]


def archive(files: dict[str, bytes] | None = None, **more: Any) -> bytes:
    """An archive that is right, but for what is changed in its manifest."""
    return RawZip(raw_files(files, **more)).to_bytes()
