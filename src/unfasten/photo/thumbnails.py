"""Small upright copies of photographs, without anything the camera wrote (no place, no serial number)."""

from __future__ import annotations

import io
from typing import TYPE_CHECKING, Final

from unfasten.photo.decode import in_colour, load, open_container, upright
from unfasten.photo.facts import PhotoError, PhotoFacts, PhotoLimits
from unfasten.photo.jpegtail import FILLING
from unfasten.photo.open import STANDARD, check_whole, photo_facts

if TYPE_CHECKING:
    from PIL import Image

_QUALITY: Final = 82


def thumbnail(data: bytes, longest_px: int, limits: PhotoLimits = STANDARD, facts: PhotoFacts | None = None) -> bytes:
    """A JPEG of the upright picture, at most `longest_px` [px] on its longer side, free of EXIF.

    Every row of the picture is read on the way, so that one that is cut short or whose header lies is found:
    `PhotoError`. `facts` saves reading the header again. `ValueError` outside 16 to 4096 px.
    """
    if not 16 <= longest_px <= 4096:
        raise ValueError(f"a thumbnail of {longest_px} px is not made; ask for 16 to 4096 px")
    known = photo_facts(data, limits=limits) if facts is None else facts
    try:
        return _jpeg(upright(_small(data, known, longest_px), known.exposure.orientation))
    except PhotoError as error:
        raise PhotoError(error.code, error.where or known.name, error.message, error.remedy) from error


def _small(data: bytes, facts: PhotoFacts, longest_px: int) -> Image.Image:
    from PIL import Image as Images

    image = open_container(data, facts.media_type)
    image.draft("RGB", (longest_px, longest_px))  # decodes a JPEG at a half, quarter or eighth where that suffices
    plain = in_colour(load(image))
    last = plain.crop((0, plain.height - 1, *plain.size))
    check_whole(facts, data, lost=last.getcolors(1) == [(plain.width, FILLING)])
    scale = min(1.0, longest_px / max(plain.size))
    size = (max(1, round(plain.width * scale)), max(1, round(plain.height * scale)))
    return plain.resize(size, Images.Resampling.LANCZOS, reducing_gap=2.0)


def _jpeg(image: Image.Image) -> bytes:
    image.info.clear()
    out = io.BytesIO()
    image.save(out, "JPEG", quality=_QUALITY, optimize=True)
    return out.getvalue()
