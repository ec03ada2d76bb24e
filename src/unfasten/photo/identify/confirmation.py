"""What a person has confirmed of a marking: data of its own, beside what the reader proposed."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Final

from unfasten.evidence.errors import CallError
from unfasten.evidence.place import shown
from unfasten.photo.identify.markings import CharacterDifference, compare
from unfasten.photo.identify.ocr import Box, MarkingReading

_SHA256: Final = re.compile(r"[0-9a-f]{64}")
_KEYS: Final = ("photo", "region", "turned_deg", "read", "confirmed", "part", "by", "at")


@dataclass(frozen=True, slots=True)
class Confirmation:
    """A marking as a person saw it on a photo: `read` is the proposal, `confirmed` what stands there.

    `part` is an id of the lab's list, or None if the person named none. `photo` is the SHA-256 of the photograph.
    """

    photo: str
    region: Box
    turned: int
    read: tuple[str, ...]
    confirmed: tuple[str, ...]
    part: str | None
    by: str
    at: datetime

    @property
    def corrections(self) -> tuple[CharacterDifference, ...]:
        """Where the person saw something else than the reader."""
        return compare("".join(self.read), "".join(self.confirmed))[1]

    def as_json(self) -> dict[str, object]:
        """The confirmation as data, read back by `read_confirmation`."""
        return {
            "photo": self.photo,
            "region": self.region.as_json(),
            "turned_deg": self.turned,
            "read": list(self.read),
            "confirmed": list(self.confirmed),
            "part": self.part,
            "by": self.by,
            "at": self.at.isoformat(),
        }


def confirm(
    reading: MarkingReading,
    photo: str,
    lines: Sequence[str],
    by: str,
    at: datetime,
    part: str | None = None,
    known_parts: Sequence[str] = (),
) -> Confirmation:
    """Keep what a person saw. Raises `CallError` without a person, without a line, or for a part not on the list."""
    said = tuple(line.strip() for line in lines if line.strip())
    if not by.strip():
        raise _wrong("by", "nobody has confirmed it", "name the person who compared reading and crop")
    if not said:
        raise _wrong("confirmed", "no line is confirmed", "write what stands on the package")
    if part is not None and part not in known_parts:
        raise _wrong("part", f"{shown(part)} is not on the list", "add it to the list, or confirm the text alone")
    if not _SHA256.fullmatch(photo):
        raise _wrong("photo", f"{shown(photo)} is no SHA-256", "give the checksum of the photograph")
    if at.tzinfo is None:
        raise _wrong("at", "the time has no offset from UTC", "give it with one")
    read = tuple(line.text for line in reading.lines)
    return Confirmation(photo, reading.region, reading.turned, read, said, part, by.strip(), at)


def read_confirmation(data: object) -> Confirmation:
    """Read a confirmation back from its JSON form; raises `CallError` that names the key that is wrong."""
    if not isinstance(data, Mapping) or set(data) != set(_KEYS):
        raise _wrong("confirmation", "its keys are not those of a confirmation", f"give {', '.join(_KEYS)}")
    try:
        region = Box(*(int(value) for value in data["region"]))
        at = datetime.fromisoformat(data["at"])
        read, said = ([str(line) for line in data[key]] for key in ("read", "confirmed"))
        turned = int(data["turned_deg"])
    except (TypeError, ValueError) as error:
        raise _wrong("confirmation", str(error), "give the values as `as_json` writes them") from error
    part = None if data["part"] is None else str(data["part"])
    reading = MarkingReading(region, turned, ())
    kept = confirm(reading, str(data["photo"]), said, str(data["by"]), at, part, [] if part is None else [part])
    return Confirmation(kept.photo, region, turned, tuple(read), kept.confirmed, part, kept.by, at)


def _wrong(where: str, message: str, remedy: str) -> CallError:
    return CallError("identify.not-confirmed", where, message, remedy)
