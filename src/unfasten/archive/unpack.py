"""Unpacking a file of a zip: real bytes are counted while they come, whatever the headers say."""

from __future__ import annotations

import hashlib
import zlib
from collections.abc import Iterator
from typing import BinaryIO, Final

from unfasten.archive.layout import RATIO_FROM, RATIO_LIMIT
from unfasten.archive.members import DEFLATED, Member

_CHUNK: Final = 1024 * 1024


class CannotUnpack(Exception):  # noqa: N818 - names the outcome
    """A file of a zip cannot be unpacked."""

    def __init__(self, code: str, message: str) -> None:
        super().__init__(message)
        self.code = code
        self.message = message


def unpack(stream: BinaryIO, member: Member, limit: int) -> bytes:
    """Give the whole content of a file, at most `limit` bytes; raise `CannotUnpack`."""
    return b"".join(_chunks(stream, member, limit))


def salvage(stream: BinaryIO, member: Member, limit: int) -> tuple[bytes, CannotUnpack | None]:
    """Give what can be unpacked of a file, and what stopped it, if anything."""
    chunks: list[bytes] = []
    try:
        for chunk in _chunks(stream, member, limit):
            chunks.append(chunk)
    except CannotUnpack as reason:
        return b"".join(chunks), reason
    return b"".join(chunks), None


def digest(stream: BinaryIO, member: Member, limit: int) -> tuple[str, int]:
    """Give SHA-256 and size of a file's content without keeping it; raise `CannotUnpack`."""
    hashed, size = hashlib.sha256(), 0
    for chunk in _chunks(stream, member, limit):
        hashed.update(chunk)
        size += len(chunk)
    return hashed.hexdigest(), size


def _chunks(stream: BinaryIO, member: Member, limit: int) -> Iterator[bytes]:
    size, crc = 0, 0
    for chunk in _inflated(stream, member) if member.method == DEFLATED else _stored(stream, member):
        size += len(chunk)
        crc = zlib.crc32(chunk, crc)
        if size > limit:
            raise CannotUnpack("archive.bomb", f"it unpacks to more than {limit} bytes")
        if size > RATIO_FROM and size > RATIO_LIMIT * member.packed:
            raise CannotUnpack("archive.bomb", f"it unpacks to more than {RATIO_LIMIT} times its size")
        yield chunk
    if size != member.size:
        raise CannotUnpack("archive.layout", f"it holds {size} bytes, and the directory says {member.size}")
    if crc != member.crc:
        raise CannotUnpack("archive.checksum", "its CRC-32 differs from the directory")


def _stored(stream: BinaryIO, member: Member) -> Iterator[bytes]:
    stream.seek(member.start)
    left = member.packed
    while left:
        chunk = stream.read(min(left, _CHUNK))
        if not chunk:
            raise CannotUnpack("archive.layout", "it is cut off")
        left -= len(chunk)
        yield chunk


def _inflated(stream: BinaryIO, member: Member) -> Iterator[bytes]:
    inflate = zlib.decompressobj(-zlib.MAX_WBITS)
    try:
        for packed in _stored(stream, member):
            rest = packed
            while rest and not inflate.eof:
                yield inflate.decompress(rest, _CHUNK)
                rest = inflate.unconsumed_tail
            if inflate.unused_data or (rest and inflate.eof):
                raise CannotUnpack("archive.layout", "bytes follow the end of its packed data")
        while not inflate.eof:
            more = inflate.decompress(b"", _CHUNK)
            if not more:
                raise CannotUnpack("archive.layout", "its packed data is cut off")
            yield more
    except zlib.error as reason:
        raise CannotUnpack("archive.layout", "its packed data is damaged") from reason
