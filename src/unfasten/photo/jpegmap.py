"""The segments of a JPEG (ITU-T T.81 annex B): where the picture is coded, where it ends, and what stands beside it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from unfasten.photo.facts import PhotoError

_EXIF: Final = b"Exif\0\0"


@dataclass(frozen=True, slots=True)
class JpegMap:
    """Where the pieces of a JPEG lie: frame header, first scan, end of the picture; and what its segments say.

    `process` is the number of the frame (0 baseline, 1 extended, 2 progressive; ITU-T T.81 table B.1); `scan` and `end`
    bound the coded data [byte]; `several` tells of a list of further pictures (CIPA DC-007); `comments` holds the
    comment segments, `exif` the first one of EXIF.
    """

    process: int
    scan: int
    end: int
    several: bool
    comments: bytes
    exif: bytes | None


def map_jpeg(data: bytes) -> JpegMap:
    """Walk the segments of a JPEG; raises `PhotoError` where they do not lead to an end of the picture."""
    at, process, several, scan, comments, exif = 2, -1, False, 0, b"", None
    while True:
        marker, at = _marker(data, at)
        if marker == 0xD9:
            break
        if marker == 0x01 or 0xD0 <= marker <= 0xD7:
            continue
        length = int.from_bytes(data[at : at + 2], "big")
        if length < 2 or at + length > len(data):
            raise cut_short()
        if 0xC0 <= marker <= 0xCF and marker not in (0xC4, 0xC8, 0xCC):
            process = marker - 0xC0
        elif marker == 0xFE:
            comments += data[at + 2 : at + length]
        elif marker == 0xE1 and exif is None and data[at + 2 : at + 8] == _EXIF:
            exif = data[at + 2 : at + length]
        elif marker == 0xE2 and data[at + 2 : at + 6] == b"MPF\0":
            several = True
        at += length
        if marker == 0xDA:
            scan = scan or at
            at = _after_scan(data, at)
    if process < 0 or not scan:
        raise PhotoError("photo.damaged", "", "the JPEG holds no picture", "copy it from the camera again")
    return JpegMap(process, scan, at, several, comments, exif)


def without_app1(data: bytes) -> bytes:
    """The same JPEG without EXIF and XMP before its first scan, so that no other reader stumbles over them."""
    out, at = [data[:2]], 2
    while True:
        marker, behind = _marker(data, at)
        stands_alone = marker == 0x01 or 0xD0 <= marker <= 0xD9
        end = behind if stands_alone else behind + int.from_bytes(data[behind : behind + 2], "big")
        if marker in (0xDA, 0xD9) or end <= at:
            return b"".join([*out, memoryview(data)[at:]])
        if marker != 0xE1:
            out.append(data[at:end])
        at = end


def _marker(data: bytes, at: int) -> tuple[int, int]:
    """The next marker and the place behind it; fill bytes are passed over."""
    if at >= len(data):
        raise cut_short()
    if data[at] != 0xFF:
        raise PhotoError("photo.damaged", "", f"no marker at byte {at}", "copy it from the camera again")
    while at < len(data) and data[at] == 0xFF:
        at += 1
    if at >= len(data):
        raise cut_short()
    return data[at], at + 1


def _after_scan(data: bytes, at: int) -> int:
    """The place of the first marker behind coded data: 0xFF followed by neither zero nor a restart mark."""
    while True:
        at = data.find(b"\xff", at)
        if at < 0 or at + 1 >= len(data):
            raise cut_short()
        if data[at + 1] == 0xFF:
            at += 1
        elif data[at + 1] == 0 or 0xD0 <= data[at + 1] <= 0xD7:
            at += 2
        else:
            return at


def cut_short() -> PhotoError:
    """The refusal of a file that ends too soon."""
    return PhotoError("photo.truncated", "", "the file ends before the picture does", "copy it from the camera again")
