"""Names and kinds of the files in a zip: nothing may leave the archive, be a link, or be taken for another."""

from __future__ import annotations

import re
import stat
import unicodedata
from collections.abc import Iterator, Sequence
from typing import Final

from unfasten.archive.layout import error, is_known
from unfasten.archive.members import DEFLATED, STORED, Member
from unfasten.evidence.place import shown
from unfasten.record.finding import Finding

_DRIVE: Final = re.compile(r"[A-Za-z]:")
_CONTROL: Final = re.compile(r"[\x00-\x1f\x7f]")
#: encrypted, patched, strongly encrypted, masked headers; sizes after the data
ENCRYPTED: Final = 0x0001 | 0x0020 | 0x0040 | 0x2000
_SIZES_LATER: Final = 0x0008


def member_findings(members: Sequence[Member]) -> Iterator[Finding]:
    """Yield all that is wrong with names, kinds and flags."""
    for member in members:
        yield from _name_findings(member.name)
        yield from _kind_findings(member)
    yield from _twins([member.name for member in members])


def _name_findings(name: str) -> Iterator[Finding]:
    remedy = "do not open this archive; ask whoever made it for another"
    at = shown(name)
    if name.startswith("/") or _DRIVE.match(name):
        yield error("archive.outside", at, "the name is an absolute path", remedy)
    elif "\\" in name:
        yield error("archive.outside", at, "the name has a backslash", remedy)
    elif ".." in name.split("/"):
        yield error("archive.outside", at, "the name leaves the archive", remedy)
    elif _CONTROL.search(name):
        yield error("archive.bad-name", at, "the name has a control character", remedy)
    elif not name.endswith("/") and not is_known(name):
        yield error("archive.bad-name", at, "the format has no such file", "take it out of the archive")


def _kind_findings(member: Member) -> Iterator[Finding]:
    at, kind = shown(member.name), stat.S_IFMT(member.mode)
    if stat.S_ISLNK(member.mode):
        yield error("archive.special", at, "it is a link", "put the file itself in the archive")
    elif member.name.endswith("/") or stat.S_ISDIR(member.mode):
        yield error("archive.special", at, "it is a folder", "put files only in the archive")
    elif kind not in (0, stat.S_IFREG):
        yield error("archive.special", at, "it is a device or pipe", "put files only in the archive")
    if member.flags & ENCRYPTED:
        yield error("archive.encrypted", at, "it is encrypted", "make the archive without a password")
    if member.flags & _SIZES_LATER:
        yield error("archive.layout", at, "its sizes stand behind its data")
    if member.method not in (STORED, DEFLATED):
        message = f"it is packed by method {member.method}, which is not read"
        yield error("archive.compression", at, message, "store or deflate it")


def twin_key(name: str) -> str:
    """What names must not share: letters compared without case, and however they are composed."""
    return unicodedata.normalize("NFKC", unicodedata.normalize("NFKD", name).casefold())


def _twins(names: Sequence[str]) -> Iterator[Finding]:
    first: dict[str, int] = {}
    for number, name in enumerate(names):
        place = first.setdefault(twin_key(name), number)
        if place == number:
            continue
        if names[place] == name:
            yield error("archive.duplicate", shown(name), "the name stands twice", "keep one of the two")
        else:
            message = f"on some disks it is the same name as {shown(names[place])}"
            yield error("archive.twin", shown(name), message, "keep one of the two")
