"""What the camera wrote: a small reader of EXIF that never trusts an offset or a count.

Layout after TIFF 6.0 (section 2, image file directories) and CIPA DC-008 (EXIF). Nothing outside the given bytes is
read, directories are followed at most once, and whatever cannot be read is left out and reported as unreadable.
"""

from __future__ import annotations

import re
import struct
from collections.abc import Iterator
from datetime import datetime, timedelta, timezone
from typing import Any, Final

from unfasten.photo.facts import Exposure

_MAKE, _MODEL, _ORIENTATION, _DETAILS, _POSITION = 0x010F, 0x0110, 0x0112, 0x8769, 0x8825
_TAKEN, _OFFSET, _FOCAL, _FOCAL_35, _WIDTH, _HEIGHT = 0x9003, 0x9011, 0x920A, 0xA405, 0xA002, 0xA003
#: type -> bytes of one value (TIFF 6.0, section 2)
_SIZES: Final = {1: 1, 2: 1, 3: 2, 4: 4, 5: 8, 7: 1, 9: 4, 10: 8, 11: 4, 12: 8}
_FORMS: Final = {1: "B", 3: "H", 4: "I", 7: "B", 9: "i", 11: "f", 12: "d"}
_LONGEST: Final = 256
_MOST_ENTRIES: Final = 512
_WHEN: Final = re.compile(r"(\d{4}):(\d\d):(\d\d)[ T](\d\d):(\d\d):(\d\d)", re.ASCII)
_ZONE: Final = re.compile(r"([+-])(\d\d):(\d\d)", re.ASCII)

Value = str | float | int


class _Directory:
    """The entries of one directory: tag -> value; `sound` is False once something could not be read."""

    def __init__(self, data: bytes, order: str, offset: int) -> None:
        self.data, self.order, self.sound = data, order, True
        self.values: dict[int, Value] = dict(self._entries(offset))

    def _entries(self, offset: int) -> Iterator[tuple[int, Value]]:
        count = self._unpack("H", offset)
        if count is None or count > _MOST_ENTRIES:
            self.sound = False
            return
        for place in range(offset + 2, offset + 2 + 12 * count, 12):
            tag, kind, number = self._unpack("H", place), self._unpack("H", place + 2), self._unpack("I", place + 4)
            if tag is None or kind is None or number is None:
                return
            value = self._value(kind, number, place + 8)
            if value is not None:
                yield tag, value

    def _value(self, kind: int, number: int, place: int) -> Value | None:
        size = _SIZES.get(kind, 0) * number
        if not 0 < size <= len(self.data):
            return None
        start = place if size <= 4 else self._unpack("I", place)
        if start is None or start + size > len(self.data):
            self.sound = False
            return None
        if kind == 2:
            return self._text(start, min(number, _LONGEST))
        if kind in (5, 10):
            above, below = self._unpack("I", start), self._unpack("I", start + 4)
            return above / below if above is not None and below else None
        number_there: int | float | None = self._unpack(_FORMS[kind], start)
        return number_there

    def _text(self, start: int, length: int) -> str:
        text = self.data[start : start + length].split(b"\0")[0].decode("utf-8", "replace")
        return "".join(char if char.isprintable() else " " for char in text).strip()

    def _unpack(self, form: str, offset: int) -> Any:
        try:
            return struct.unpack_from(self.order + form, self.data, offset)[0]
        except struct.error:
            self.sound = False
            return None


def read_exposure(data: bytes | None) -> tuple[Exposure, bool]:
    """Read the EXIF bytes of a photograph (with or without their `Exif` mark): the exposure, and whether all was sound.

    >>> read_exposure(None)[1], read_exposure(b"garbage")[1]
    (True, False)
    """
    if not data:
        return Exposure(), True
    tiff = data.removeprefix(b"Exif\0\0")
    order = {b"II*\0": "<", b"MM\0*": ">"}.get(tiff[:4])
    if order is None or len(tiff) < 8:
        return Exposure(), False
    first = _Directory(tiff, order, struct.unpack(order + "I", tiff[4:8])[0])
    inner = first.values.get(_DETAILS)
    details = _Directory(tiff, order, inner) if isinstance(inner, int) else None
    values = details.values if details else {}
    taken, taken_sound = _taken(values.get(_TAKEN), values.get(_OFFSET))
    turned = first.values.get(_ORIENTATION, 1)
    upright = isinstance(turned, int) and 1 <= turned <= 8
    exposure = Exposure(
        taken=taken,
        make=_word(first.values.get(_MAKE)),
        model=_word(first.values.get(_MODEL)),
        focal_length=_length(values.get(_FOCAL)),
        focal_35=_length(values.get(_FOCAL_35)),
        orientation=int(turned) if upright else 1,
        size=_size(values.get(_WIDTH), values.get(_HEIGHT)),
        has_position=_POSITION in first.values,
    )
    return exposure, first.sound and (details is None or details.sound) and taken_sound and upright


def _word(value: Value | None) -> str:
    return value if isinstance(value, str) else ""


def _length(value: Value | None) -> float | None:
    """A focal length [mm]; 0 means unknown (CIPA DC-008)."""
    return float(value) if isinstance(value, int | float) and 0 < value < 10_000 else None


def _size(width: Value | None, height: Value | None) -> tuple[int, int] | None:
    return (width, height) if isinstance(width, int) and isinstance(height, int) and width and height else None


def _taken(when: Value | None, zone: Value | None) -> tuple[datetime | None, bool]:
    """The moment of exposure, with offset where the camera wrote one; all blanks or zeros mean unknown."""
    text = _word(when)
    if not text.strip(" :0"):
        return None, True
    found = _WHEN.fullmatch(text)
    if found is None:
        return None, False
    try:
        return datetime(*map(int, found.groups()), tzinfo=_zone(zone)), True  # type: ignore[misc,arg-type]
    except ValueError:
        return None, False


def _zone(value: Value | None) -> timezone | None:
    found = _ZONE.fullmatch(_word(value))
    if found is None:
        return None
    offset = timedelta(hours=int(found[2]), minutes=int(found[3]))
    return timezone(-offset if found[1] == "-" else offset)
