"""Whether a JPEG really holds as many rows as its header says.

A decoder fills what is missing with even grey and says nothing. So the last bytes of the coded data are altered: in
an honest picture that changes its last blocks. If the last blocks stay the same the header is wrong: too large if
they are grey filling, too small if nothing changed at all. Only sequential frames code their last blocks last; a
progressive one is refused where it ends in filling, and too small a header goes unnoticed.
"""

from __future__ import annotations

import io
from typing import Final

from unfasten.photo.decode import DAMAGE
from unfasten.photo.facts import PhotoError
from unfasten.photo.jpegmap import JpegMap, without_app1

_ALTERED: Final = 48
_SEQUENTIAL: Final = (0, 1)
#: what a decoder puts where data is missing
FILLING: Final = (128, 128, 128)


def check_tail(data: bytes, found: JpegMap) -> None:
    """Raise `PhotoError` if the header of a sequential JPEG says another size than its data holds."""
    if found.end - found.scan < 4 * _ALTERED:
        return
    honest = _small(data)
    sequential = found.process in _SEQUENTIAL
    altered = _small(_with_other_end(data, found)) if sequential else None
    if honest is None:
        return
    (_, rows), pixels = honest
    last = len(pixels) // rows
    ends_grey = set(pixels[-last:]) == {FILLING[0]} != set(pixels)
    unchanged = altered is not None and altered[1][-last:] == pixels[-last:]
    if ends_grey and (unchanged or not sequential):
        raise _lies("the header says more rows or columns than the file holds")
    if altered is not None and altered[1] == pixels:
        raise _lies("the file holds more rows or columns than its header says")


def _lies(message: str) -> PhotoError:
    return PhotoError("photo.size-lies", "", message, "copy it from the camera again")


def _with_other_end(data: bytes, found: JpegMap) -> bytes:
    """The same file with the last coded bytes altered, no marker among them."""
    end = found.end - 2
    start = end - _ALTERED
    while data[start - 1] == 0xFF:
        start += 1
    other = bytes((byte ^ 0x5A) & 0x7F for byte in data[start:end])
    return data[:start] + other + data[end:]


def _small(data: bytes) -> tuple[tuple[int, int], bytes] | None:
    """The picture at an eighth of its size; None if the alteration broke it."""
    from PIL import JpegImagePlugin

    try:
        image = JpegImagePlugin.JpegImageFile(io.BytesIO(without_app1(data)))
        image.draft(None, (1, 1))
        image.load()
    except DAMAGE:
        return None
    return image.size, image.tobytes()
