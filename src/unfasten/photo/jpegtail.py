"""Whether a JPEG really holds as many rows as its header says.

A decoder fills what is missing with even grey and says nothing. So the last bytes of the coded data are altered: in
an honest picture that changes its last blocks. If the last blocks stay the same the header is wrong: too large if
they are grey filling, too small if nothing changed at all. Only sequential frames code their last blocks last.
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
    if found.process not in _SEQUENTIAL or found.end - found.scan < 4 * _ALTERED:
        return
    honest, altered = _small(data), _small(_with_other_end(data, found))
    if honest is None or altered is None:
        return
    (size, pixels), (_, others) = honest, altered
    stride = len(pixels) // size[1]
    last = pixels[-stride:]
    if last == others[-stride:] and set(last) == {FILLING[0]}:
        message = "the header says more rows or columns than the file holds"
        raise PhotoError("photo.size-lies", "", message, "copy it from the camera again")
    if pixels == others:
        message = "the file holds more rows or columns than its header says"
        raise PhotoError("photo.size-lies", "", message, "copy it from the camera again")


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
