"""Taking in a photograph that a person hands over: facts, remarks and a small copy, or a clear refusal."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Final

from unfasten.photo.facts import PhotoFacts, PhotoLimits
from unfasten.photo.open import STANDARD, photo_facts
from unfasten.photo.thumbnails import thumbnail

#: longer side of a small copy [px]
SMALL_PX: Final = 480


@dataclass(frozen=True, slots=True)
class TakenPhoto:
    """A photograph that may be kept: its facts, and a small upright JPEG without what the camera wrote."""

    facts: PhotoFacts
    small: bytes = field(repr=False)

    def as_json(self) -> dict[str, object]:
        """The facts; the small copy is sent by itself."""
        return self.facts.as_json()


def take_photo(data: bytes, name: str, limits: PhotoLimits = STANDARD, small_px: int = SMALL_PX) -> TakenPhoto:
    """Read a photograph from its bytes; the file itself is left as it is.

    Raises `PhotoError` (code, place, message, remedy) for what is no usable photograph. Every row is decoded once, at
    reduced size where the format allows, so that a damaged file is refused now and not when someone measures on it.
    """
    facts = photo_facts(data, name, limits)
    return TakenPhoto(facts, thumbnail(data, small_px, limits, facts))
