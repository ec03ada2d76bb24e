"""What the bytes of a file are, whatever its name says; and what else is hidden in them."""

from __future__ import annotations

import re
from typing import Final

from unfasten.photo.facts import FORMATS, HEIC, JPEG, PNG, PhotoError, PhotoRemark

_HEIC_BRANDS: Final = frozenset(
    {b"heic", b"heix", b"heim", b"heis", b"hevc", b"hevx", b"hevm", b"hevs", b"mif1", b"msf1"}
)
_SEQUENCES: Final = frozenset({b"hevc", b"hevx", b"hevm", b"hevs", b"msf1"})
#: how a file of another format begins
_OTHERS: Final = (
    (re.compile(rb"GIF8[79]a"), "a GIF picture"),
    (re.compile(rb"RIFF.{4}WEBP", re.DOTALL), "a WebP picture"),
    (re.compile(rb"II\*\0|MM\0\*|II\+\0|MM\0\+"), "a TIFF or raw camera file"),
    (re.compile(rb"BM.{4}\0\0\0\0", re.DOTALL), "a BMP picture"),
    (re.compile(rb"\x00\x00\x00\x0cJXL |\xff\x0a"), "a JPEG XL picture"),
    (re.compile(rb"\x00\x00\x00\x0cjP  |\xff\x4f\xff\x51"), "a JPEG 2000 picture"),
    (re.compile(rb"%PDF-"), "a PDF document"),
    (re.compile(rb"PK\x03\x04"), "a ZIP archive"),
    (re.compile(rb"\x1a\x45\xdf\xa3"), "a video"),
    (re.compile(rb"\x7fELF|MZ"), "a program"),
)
_REMEDY: Final = "save or export the picture as JPEG, PNG or HEIC"
#: what makes a second file out of the bytes after a picture, or out of its comments
_ACTIVE: Final = re.compile(rb"<(?:!doctype|html|script|svg|body|iframe)\b|<\?php|%PDF-|PK\x05\x06", re.I)
_HEAD: Final = 4096


def media_type(data: bytes) -> str:
    """The media type of a JPEG, PNG or HEIC file; raises `PhotoError` that names what the bytes are instead."""
    if not data:
        raise PhotoError("photo.empty", "", "the file is empty (0 bytes)", "copy it from the camera again")
    if data.startswith(b"\xff\xd8\xff"):
        return JPEG
    if data.startswith(b"\x89PNG\r\n\x1a\n"):
        return PNG
    if data[4:8] == b"ftyp":
        return _box_type(data)
    for form, name in _OTHERS:
        if form.match(data[:_HEAD]):
            raise PhotoError("photo.other-format", "", f"this is {name}", _REMEDY)
    text = data[:_HEAD].removeprefix(b"\xef\xbb\xbf").lstrip().lower()
    if text.startswith(b"<"):
        raise PhotoError("photo.other-format", "", f"this is {_tagged(text)}", _REMEDY)
    if not data.strip(b"\0"):
        raise PhotoError("photo.not-a-picture", "", "the file holds only zero bytes", "copy it from the camera again")
    raise PhotoError("photo.not-a-picture", "", "this is no picture of a known format", _REMEDY)


def _tagged(text: bytes) -> str:
    if b"<svg" in text:
        return "an SVG drawing"
    return "a web page" if any(tag in text for tag in (b"<!doctype html", b"<html", b"<body", b"<script")) else "XML"


def _box_type(data: bytes) -> str:
    length = int.from_bytes(data[:4], "big")
    brands = {data[8:12], *(data[at : at + 4] for at in range(16, min(length, 256, len(data)), 4))}
    if brands & {b"avif", b"avis"}:
        raise PhotoError("photo.other-format", "", "this is an AVIF picture", _REMEDY)
    if brands & _HEIC_BRANDS:
        return HEIC
    raise PhotoError("photo.other-format", "", "this is a video", "take a still from it as JPEG or PNG")


def boxes_end(data: bytes) -> int:
    """The place behind the last whole box of a HEIC file [byte] (ISO/IEC 14496-12, 4.2)."""
    at = 0
    while at + 8 <= len(data):
        length, kind = int.from_bytes(data[at : at + 4], "big"), data[at + 4 : at + 8]
        if length == 1:
            length = int.from_bytes(data[at + 8 : at + 16], "big")
        if length == 0 and kind.isalnum():
            return len(data)
        if length < 8 or at + length > len(data) or not kind.isalnum():
            break
        at += length
    return at


def is_sequence(data: bytes) -> bool:
    """Tell whether a HEIC file calls itself a sequence of pictures (ISO/IEC 23008-12, B.4) by its main brand."""
    return data[8:12] in _SEQUENCES


def name_remarks(name: str, kind: str) -> tuple[PhotoRemark, ...]:
    """A remark where the suffix of the name says another format than the bytes."""
    called, suffixes = FORMATS[kind]
    suffix = name.rpartition(".")[2].lower() if "." in name else ""
    if not suffix or suffix in suffixes:
        return ()
    message = f"the name ends in .{suffix[:12]}, but the file is {called}"
    return (PhotoRemark("photo.wrong-suffix", message, f"rename it to end in .{suffixes[0]}"),)


def check_hidden(data: bytes, end: int, comments: bytes) -> tuple[PhotoRemark, ...]:
    """Refuse a file that is a second thing besides a picture; remark on harmless bytes behind the picture.

    A picture may be followed by a film or a further picture (cameras do that); a web page, script, archive or document
    there, or in a comment, is refused with `PhotoError`.
    """
    rest = data[end:].strip(b"\0")
    found = _ACTIVE.search(rest) or _ACTIVE.search(comments)
    if found or b"%PDF-" in data[:1024]:
        message = "besides a picture the file holds a web page, script, archive or document"
        raise PhotoError("photo.polyglot", "", message, "open it in a picture program and save it as a new file")
    if not rest:
        return ()
    message = f"{len(rest)} bytes follow the picture and are not used"
    return (PhotoRemark("photo.extra-data", message, "nothing to do if the camera adds a film or a second picture"),)
