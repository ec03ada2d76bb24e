"""The files of a zip, read from its directory without trusting it: every byte of the zip must be accounted for.

A zip of ours is: for each file a local header and its packed bytes, one after the other from byte 0; the central
directory; the end record as the last bytes. Whatever deviates (bytes before, between or after, overlaps, a directory
that says other things than the local headers) is told.
"""

from __future__ import annotations

import struct
from collections.abc import Iterator
from dataclasses import dataclass
from typing import BinaryIO, Final

from unfasten.archive.layout import FILES_LIMIT, error
from unfasten.evidence.place import shown
from unfasten.record.finding import Finding

STORED: Final = 0
DEFLATED: Final = 8
_LOCAL: Final = struct.Struct("<4s5H3L2H")
_CENTRAL: Final = struct.Struct("<4s6H3L5H2L")
_END: Final = struct.Struct("<4s4H2LH")
_END64: Final = struct.Struct("<4sQ2H2L4Q")
_LOCATOR: Final = struct.Struct("<4sLQL")
_UTF8: Final = 1 << 11
_LARGEST: Final = 0xFFFFFFFF
_DIRECTORY_LIMIT: Final = 64 * 1024 * 1024


@dataclass(frozen=True, slots=True)
class Member:
    """A file of a zip as its headers describe it; `start` is the first byte of its packed data, `at` of its header."""

    name: str
    at: int
    start: int
    packed: int
    size: int
    method: int
    flags: int
    crc: int
    mode: int = 0

    @property
    def end(self) -> int:
        """First byte after its packed data."""
        return self.start + self.packed


@dataclass(frozen=True, slots=True)
class Directory:
    """The files that a zip lists, and what is wrong with the way they lie in it."""

    members: tuple[Member, ...]
    findings: tuple[Finding, ...]


def read_directory(stream: BinaryIO, size: int) -> Directory:
    """Read the directory of a zip of `size` bytes; it never raises on bad data."""
    end = _read_at(stream, size - _END.size, _END.size) if size >= _END.size else b""
    if not end.startswith(b"PK\5\6"):
        return Directory((), (_no_end(stream, size),))
    _, disk, start_disk, here, count, length, offset, comment = _END.unpack(end)
    border = size - _END.size
    if _LARGEST in (length, offset) or 0xFFFF in (here, count):
        wide = _wide_end(stream, border)
        if wide is None:
            return Directory((), (error("archive.layout", "end of the zip", "its long form is missing or odd"),))
        border, count, length, offset = wide
        here = count
    if comment or disk or start_disk or here != count or offset + length != border or length > _DIRECTORY_LIMIT:
        return Directory((), (error("archive.layout", "end of the zip", "its numbers do not fit the file"),))
    if count > FILES_LIMIT:
        message = f"{count} files, where {FILES_LIMIT} are allowed"
        return Directory((), (error("archive.too-many", "directory of the zip", message, "split the record"),))
    return _members(stream, _read_at(stream, offset, length), count, offset)


def _no_end(stream: BinaryIO, size: int) -> Finding:
    tail = _read_at(stream, max(0, size - 70_000), 70_000)
    place = tail.rfind(b"PK\5\6")
    if place < 0:
        remedy = "name a whole archive; of one cut off, --recover saves what is left"
        return error("archive.not-zip", "end of the file", "there is no directory of a zip", remedy)
    more = len(tail) - place - _END.size
    return error("archive.layout", "end of the file", f"{more} bytes that belong to no file follow the directory")


def _wide_end(stream: BinaryIO, end: int) -> tuple[int, int, int, int] | None:
    """Border, count, length and offset of the directory as the 64-bit end record gives them."""
    border = end - _LOCATOR.size - _END64.size
    if border < 0:
        return None
    record = _END64.unpack(_read_at(stream, border, _END64.size))
    mark, disk, place, disks = _LOCATOR.unpack(_read_at(stream, border + _END64.size, _LOCATOR.size))
    fits = mark == b"PK\6\7" and disk == 0 and disks == 1 and place == border
    if not fits or record[0] != b"PK\6\6" or record[1] != _END64.size - 12 or record[6] != record[7]:
        return None
    return border, record[7], record[8], record[9]


def _members(stream: BinaryIO, data: bytes, count: int, end: int) -> Directory:
    members: list[Member] = []
    findings: list[Finding] = []
    place = 0
    for number in range(1, count + 1):
        found = _central(data, place)
        if found is None:
            findings.append(error("archive.layout", f"file {number} of the directory", "its entry is cut off or odd"))
            break
        member, place, odd = found
        findings += odd
        findings += _local_findings(stream, member)
        local = read_local(stream, member.at)
        members.append(member if local is None else _started(member, local.start))
    else:
        if place != len(data):
            findings.append(error("archive.layout", "directory of the zip", f"{len(data) - place} bytes too many"))
        findings += _gaps(members, end)
    return Directory(tuple(members), tuple(findings))


def _central(data: bytes, place: int) -> tuple[Member, int, list[Finding]] | None:
    if len(data) - place < _CENTRAL.size or data[place : place + 4] != b"PK\1\2":
        return None
    fields = _CENTRAL.unpack_from(data, place)
    flags, method, crc, packed, size = fields[3], fields[4], *fields[7:10]
    name_length, extra_length, comment_length = fields[10:13]
    offset = fields[16]
    begin = place + _CENTRAL.size
    end = begin + name_length + extra_length + comment_length
    if end > len(data):
        return None
    extra = data[begin + name_length : begin + name_length + extra_length]
    wide = _wide_values(extra, [size, packed, offset])
    raw = data[begin : begin + name_length]
    name, is_text = _name(raw, flags)
    odd = [] if is_text else [error("archive.bad-name", shown(name), "the name is not UTF-8", "rename the file")]
    if comment_length:
        odd.append(error("archive.layout", shown(name), "it carries a comment in the directory"))
    size, packed, offset = wide
    member = Member(name, offset, 0, packed, size, method, flags, crc, fields[15] >> 16)
    return member, end, odd


def _wide_values(extra: bytes, values: list[int]) -> list[int]:
    """Take the values that are too large for 32 bits from the extra field 1."""
    place = 0
    while place + 4 <= len(extra):
        kind, length = struct.unpack_from("<2H", extra, place)
        body = extra[place + 4 : place + 4 + length]
        if kind == 1:
            wide = iter(struct.unpack(f"<{len(body) // 8}Q", body[: len(body) // 8 * 8]))
            return [next(wide, value) if value == _LARGEST else value for value in values]
        place += 4 + length
    return values


def _name(raw: bytes, flags: int) -> tuple[str, bool]:
    try:
        return raw.decode("utf-8" if flags & _UTF8 else "ascii"), True
    except UnicodeDecodeError:
        return raw.decode("latin-1"), False


def read_local(stream: BinaryIO, offset: int) -> Member | None:
    """Read the local header at a byte of the file; None if there is none."""
    head = _read_at(stream, offset, _LOCAL.size)
    if len(head) < _LOCAL.size or not head.startswith(b"PK\3\4"):
        return None
    _, _, flags, method, _, _, crc, packed, size, name_length, extra_length = _LOCAL.unpack(head)
    rest = _read_at(stream, offset + _LOCAL.size, name_length + extra_length)
    size, packed = _wide_values(rest[name_length:], [size, packed])
    name = _name(rest[:name_length], flags)[0]
    return Member(name, offset, offset + _LOCAL.size + name_length + extra_length, packed, size, method, flags, crc)


def _local_findings(stream: BinaryIO, member: Member) -> Iterator[Finding]:
    local = read_local(stream, member.at)
    if local is None:
        yield error("archive.layout", shown(member.name), "the directory points to no file")
        return
    for what in ("name", "packed", "size", "method", "flags", "crc"):
        if getattr(local, what) != getattr(member, what):
            yield error("archive.layout", shown(member.name), f"directory and file disagree about its {what}")


def _started(member: Member, start: int) -> Member:
    return Member(
        member.name, member.at, start, member.packed, member.size, member.method, member.flags, member.crc, member.mode
    )


def _gaps(members: list[Member], end: int) -> Iterator[Finding]:
    """Files must lie one after the other, from byte 0 to the directory."""
    place = 0
    for member in sorted(members, key=lambda one: one.at):
        if member.at != place:
            what = "overlaps another file" if member.at < place else f"{member.at - place} bytes that belong to no file"
            where = "before " if member.at > place else ""
            yield error("archive.layout", f"{where}{shown(member.name)}", what)
        place = max(place, member.end)
    if place != end:
        yield error("archive.layout", "before the directory", f"{abs(end - place)} bytes that belong to no file")


def _read_at(stream: BinaryIO, offset: int, count: int) -> bytes:
    stream.seek(max(offset, 0))
    return stream.read(count)
