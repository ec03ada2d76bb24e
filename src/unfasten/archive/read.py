"""Reading an archive strictly: all is checked before anything is taken, and all that is wrong is told at once."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any, BinaryIO, Final

from unfasten.archive.contents import Archive, photos_named, read_record_text
from unfasten.archive.layout import (
    LEDGER,
    MANIFEST,
    PHOTOS,
    RECORD_JSON,
    RECORD_YAML,
    TEXT_LIMIT,
    TOTAL_LIMIT,
    ArchiveInvalid,
    Line,
    PhotoLine,
    error,
    is_known,
    limit_of,
)
from unfasten.archive.ledgerfile import read_ledger, read_photos
from unfasten.archive.manifest import Manifest, photo_of, read_manifest
from unfasten.archive.members import Member, read_directory
from unfasten.archive.names import member_findings
from unfasten.archive.unpack import CannotUnpack, digest, unpack
from unfasten.evidence.place import shown
from unfasten.record.finding import Finding
from unfasten.record.ledger import fold

#: with these wrong, files may overlap or be endless: nothing is unpacked
_FATAL: Final = frozenset({"archive.layout", "archive.not-zip", "archive.too-many", "archive.too-large"})


def read_archive(stream: BinaryIO, size: int, name: str) -> Archive:
    """Read an archive of `size` bytes; raise `ArchiveInvalid` with every finding. The stream must stay open."""
    directory = read_directory(stream, size)
    findings = [*directory.findings, *member_findings(directory.members), *_too_large(directory.members)]
    if any(finding.code in _FATAL for finding in findings):
        raise ArchiveInvalid(name, findings)
    members = {member.name: member for member in directory.members if is_known(member.name)}
    manifest, wrong = _manifest(stream, members)
    findings += wrong
    findings += _sums(stream, members, manifest)
    texts = {one: _text(stream, members, one) for one in (LEDGER, PHOTOS, RECORD_YAML, RECORD_JSON)}
    lines, wrong = read_ledger(texts[LEDGER] or b"", manifest.record if manifest else None)
    findings += wrong
    photos, wrong = read_photos(texts[PHOTOS]) if texts[PHOTOS] is not None else ([], [])
    findings += wrong
    tree: Mapping[str, Any] = {}
    if manifest is not None and not findings:
        tree = fold(lines).tree
        findings += _agreement(manifest, lines, tree, photos, texts)
    if findings or manifest is None:
        raise ArchiveInvalid(name, findings)
    by_photo = {sha256: member for one, member in members.items() if (sha256 := photo_of(one)) is not None}
    return Archive(manifest.record, tuple(lines), tree, tuple(photos), manifest.absent, stream, by_photo)


def _too_large(members: Sequence[Member]) -> Iterator[Finding]:
    total = sum(member.size for member in members)
    if total > TOTAL_LIMIT:
        message = f"{total} bytes unpacked, where {TOTAL_LIMIT} are allowed"
        yield error("archive.too-large", "directory of the zip", message, "split the record")


def _manifest(stream: BinaryIO, members: Mapping[str, Member]) -> tuple[Manifest | None, list[Finding]]:
    if MANIFEST not in members:
        return None, [error("archive.no-manifest", MANIFEST, "the archive has no manifest")]
    try:
        return read_manifest(unpack(stream, members[MANIFEST], TEXT_LIMIT))
    except CannotUnpack as reason:
        return None, [error(reason.code, MANIFEST, reason.message)]


def _sums(stream: BinaryIO, members: Mapping[str, Member], manifest: Manifest | None) -> Iterator[Finding]:
    """Compare every file with the manifest, unpacking it once."""
    listed = {} if manifest is None else manifest.files
    for name, member in members.items():
        if name == MANIFEST:
            continue
        if manifest is not None and name not in listed:
            yield error("archive.unlisted", shown(name), "the manifest does not list it", "take it out of the archive")
        try:
            sha256, size = digest(stream, member, limit_of(name))
        except CannotUnpack as reason:
            yield error(reason.code, shown(name), reason.message)
            continue
        if photo_of(name) not in (None, sha256):
            yield error("archive.checksum", shown(name), "its bytes are not those that its name gives")
        if name in listed and listed[name] != (size, sha256):
            yield error("archive.checksum", shown(name), "size or SHA-256 differs from the manifest")
    for name in sorted(set(listed) - set(members)):
        yield error("archive.missing", shown(name), "the manifest lists it, and it is not there")


def _text(stream: BinaryIO, members: Mapping[str, Member], name: str) -> bytes | None:
    """Content of a text file; None if there is none or it cannot be unpacked, which `_sums` tells."""
    try:
        return unpack(stream, members[name], TEXT_LIMIT) if name in members else None
    except CannotUnpack:
        return None


def _agreement(
    manifest: Manifest,
    lines: Sequence[Line],
    tree: Mapping[str, Any],
    photos: Sequence[PhotoLine],
    texts: Mapping[str, bytes | None],
) -> Iterator[Finding]:
    """Do the files of the archive say the same?"""
    if not lines or len(lines) != manifest.entries:
        yield error("archive.ledger", LEDGER, f"it has {len(lines)} entries, and the manifest says {manifest.entries}")
    records = [name for name in (RECORD_YAML, RECORD_JSON) if texts[name] is not None]
    if len(records) != 1:
        yield error("archive.missing", RECORD_YAML, "the record stands in one file, which is not there or doubled")
    for name in records:
        if read_record_text(name, texts[name] or b"") != tree:
            yield error("archive.record-differs", name, "it is not the record that the ledger makes")
    files = {sha256: size for name, (size, _) in manifest.files.items() if (sha256 := photo_of(name)) is not None}
    told = {photo.sha256: photo.size for photo in photos}
    if files != told:
        yield error("archive.photos", PHOTOS, "it does not tell of the photos that are there")
    for sha256 in photos_named(lines):
        if sha256 not in files and sha256 not in manifest.absent:
            yield error(
                "archive.missing", f"photos/{shown(sha256)}", "the ledger names this photo, and it is not there"
            )
