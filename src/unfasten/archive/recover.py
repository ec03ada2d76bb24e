"""Saving what can be saved of a damaged archive: every repair is told, and nothing unsafe is ever taken.

Names that leave the archive, links, encrypted files and files without end are left out, never repaired. A photo is
taken only if its bytes are those that its name gives. The ledger is taken up to its first damaged line; where the
record's own text says more, and its checksum holds, that is given as `restored`.
"""

from __future__ import annotations

import stat
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Any, BinaryIO, Final

from unfasten.archive.contents import Archive, photos_named, read_record_text
from unfasten.archive.layout import (
    FILES_LIMIT,
    LEDGER,
    MANIFEST,
    PHOTO_LIMIT,
    PHOTOS,
    RECORD_JSON,
    RECORD_YAML,
    TEXT_LIMIT,
    TOTAL_LIMIT,
    ArchiveInvalid,
    Line,
    PhotoLine,
    is_known,
)
from unfasten.archive.ledgerfile import read_ledger, read_photos
from unfasten.archive.manifest import Manifest, photo_of, read_manifest
from unfasten.archive.members import DEFLATED, STORED, Member, read_directory, read_local
from unfasten.archive.names import ENCRYPTED, member_findings
from unfasten.archive.unpack import CannotUnpack, digest, salvage
from unfasten.evidence.place import shown
from unfasten.record.finding import Finding
from unfasten.record.ledger import fold

#: what is done about a finding that does not leave its file out
_DONE: Final = {
    "archive.layout": "the sizes in the directory are used",
    "archive.duplicate": "the first of them is taken",
    "archive.twin": "the one that the format knows is taken",
}
_MEDIA: Final = {"jpg": "image/jpeg", "png": "image/png", "heic": "image/heic", "heif": "image/heif"}


def recover_archive(stream: BinaryIO, size: int, name: str) -> Archive:
    """Take what can be taken; raise `ArchiveInvalid` if that is nothing. The stream must stay open."""
    repairs: list[Finding] = []
    members = _usable(stream, size, repairs)
    texts = {one: _text(stream, members, one, repairs) for one in (MANIFEST, LEDGER, PHOTOS, RECORD_YAML, RECORD_JSON)}
    if texts[RECORD_YAML] is None and texts[RECORD_JSON] is None:
        repairs.append(_told("archive.missing", RECORD_YAML, "the text of the record is lost; the ledger makes it"))
    manifest = _manifest(texts[MANIFEST], repairs)
    if manifest is not None:
        repairs += _differences(stream, members, manifest)
    lines, wrong = read_ledger(texts[LEDGER] or b"", manifest.record if manifest else None)
    repairs += [_repair(one, "the ledger is taken up to the line before") for one in wrong]
    if manifest is not None and len(lines) < manifest.entries:
        repairs.append(_told("archive.ledger", LEDGER, f"entries {len(lines) + 1} to {manifest.entries} are lost"))
    tree = fold(lines).tree
    restored = _restored(stream, members, manifest, texts, tree)
    if restored is not None:
        repairs.append(
            _told("archive.ledger", RECORD_YAML, "the ledger lacks its end; the record is taken from its text")
        )
    record = _record(manifest, lines, restored)
    if record is None:
        raise ArchiveInvalid(name, repairs)
    photos = _photos(stream, members, texts[PHOTOS], repairs)
    held = {photo.sha256 for photo in photos}
    absent = tuple(one for one in photos_named(lines) if one not in held)
    told = set(manifest.absent) if manifest else set()
    repairs += [
        _told("archive.missing", f"photos/{shown(one)}", "the ledger names this photo, and it is lost")
        for one in absent
        if one not in told
    ]
    by_photo = {sha: member for one, member in members.items() if (sha := photo_of(one)) in held and sha is not None}
    return Archive(record, tuple(lines), tree, tuple(photos), absent, stream, by_photo, tuple(repairs), restored)


def _usable(stream: BinaryIO, size: int, repairs: list[Finding]) -> dict[str, Member]:
    """Files that may be unpacked; from the directory, or where that is broken from the local headers."""
    directory = read_directory(stream, size)
    found: Sequence[Member] = directory.members
    if directory.findings:
        repairs += [_repair(one, "the files are looked for without the directory") for one in directory.findings]
        modes = {member.at: member.mode for member in directory.members}
        found = [replace(member, mode=modes.get(member.at, 0)) for member in _scan(stream, size)]
    repairs += [_repair(one, _DONE.get(one.code, "it is left out")) for one in member_findings(found)]
    taken: dict[str, Member] = {}
    total = 0
    for member in found[:FILES_LIMIT]:
        total += member.size
        if _is_safe(member) and total <= TOTAL_LIMIT:
            taken.setdefault(member.name, member)
    return taken


def _is_safe(member: Member) -> bool:
    plain = stat.S_IFMT(member.mode) in (0, stat.S_IFREG) and not member.flags & ENCRYPTED
    return plain and is_known(member.name) and member.method in (STORED, DEFLATED)


def _scan(stream: BinaryIO, size: int) -> Iterator[Member]:
    """Local headers one after the other; between them the zip is searched."""
    place = 0
    for _ in range(FILES_LIMIT):
        member = read_local(stream, place)
        if member is None:
            place = _next_header(stream, place + 1, size)
            if place < 0:
                return
            continue
        yield replace(member, packed=min(member.packed, max(size - member.start, 0)))
        place = max(member.end, place + 1)


def _next_header(stream: BinaryIO, place: int, size: int) -> int:
    while place < size:
        stream.seek(place)
        chunk = stream.read(1024 * 1024)
        found = chunk.find(b"PK\3\4")
        if found >= 0:
            return place + found
        place += max(len(chunk) - 3, 1)
    return -1


def _text(stream: BinaryIO, members: Mapping[str, Member], name: str, repairs: list[Finding]) -> bytes | None:
    if name not in members:
        return None
    data, reason = salvage(stream, members[name], TEXT_LIMIT)
    if reason is not None:
        repairs.append(_told(reason.code, name, f"{reason.message}; what comes before the damage is read"))
    return data


def _manifest(data: bytes | None, repairs: list[Finding]) -> Manifest | None:
    if data is None:
        repairs.append(_told("archive.no-manifest", MANIFEST, "there is no manifest; each file is judged by itself"))
        return None
    manifest, wrong = read_manifest(data)
    repairs += [_repair(one, "the manifest is not used") for one in wrong]
    return manifest


def _differences(stream: BinaryIO, members: Mapping[str, Member], manifest: Manifest) -> Iterator[Finding]:
    """What the manifest says otherwise; photos are judged by their own names."""
    for name in sorted(set(manifest.files) - set(members)):
        yield _told("archive.missing", shown(name), "the manifest lists it, and it is lost or was left out")
    for name, member in members.items():
        if name == MANIFEST or photo_of(name) is not None:
            continue
        if name not in manifest.files:
            yield _told("archive.unlisted", shown(name), "the manifest does not list it; it is read with care")
            continue
        try:
            differs = digest(stream, member, TEXT_LIMIT)[::-1] != manifest.files[name]
        except CannotUnpack:
            continue
        if differs:
            yield _told("archive.checksum", shown(name), "its checksum differs from the manifest; it is read with care")


def _restored(
    stream: BinaryIO,
    members: Mapping[str, Member],
    manifest: Manifest | None,
    texts: Mapping[str, bytes | None],
    tree: Mapping[str, Any],
) -> Mapping[str, Any] | None:
    """The record as its own text has it, if the manifest vouches for it and the ledger makes another."""
    for name in (RECORD_YAML, RECORD_JSON):
        if manifest is None or name not in members or name not in manifest.files:
            continue
        try:
            sha256, size = digest(stream, members[name], TEXT_LIMIT)
        except CannotUnpack:
            continue
        held = read_record_text(name, texts[name] or b"")
        if (size, sha256) == manifest.files[name] and isinstance(held, dict) and held != tree:
            product = held.get("product")
            return held if isinstance(product, dict) and product.get("id") == manifest.record else None
    return None


def _record(manifest: Manifest | None, lines: Sequence[Line], restored: Mapping[str, Any] | None) -> str | None:
    if lines and "product" in fold(lines).tree:
        return lines[0].record
    return manifest.record if manifest is not None and restored is not None else None


def _photos(
    stream: BinaryIO, members: Mapping[str, Member], data: bytes | None, repairs: list[Finding]
) -> list[PhotoLine]:
    known, wrong = read_photos(data) if data is not None else ([], [])
    repairs += [_repair(one, "what it says is not used") for one in wrong]
    told = {photo.sha256: photo for photo in known}
    out = []
    for name, member in members.items():
        sha256 = photo_of(name)
        if sha256 is None:
            continue
        try:
            found, size = digest(stream, member, PHOTO_LIMIT)
        except CannotUnpack as reason:
            repairs.append(_told(reason.code, shown(name), f"{reason.message}; the photo is left out"))
            continue
        if found != sha256:
            message = "its bytes are not those that its name gives; the photo is left out"
            repairs.append(_told("archive.checksum", shown(name), message))
            continue
        if sha256 not in told or told[sha256].size != size:
            message = "nothing sure is known of it but its bytes"
            repairs.append(_told("archive.photos", shown(name), message))
            media = _MEDIA.get(name.rpartition(".")[2], "application/octet-stream")
            told[sha256] = PhotoLine(sha256, media, None, None, None, None, size, None)
        out.append(told[sha256])
    return out


def _repair(finding: Finding, done: str) -> Finding:
    return replace(finding, level="warning", remedy=done)


def _told(code: str, at: str, message: str) -> Finding:
    return Finding("warning", code, at, message, "look at what was taken")
