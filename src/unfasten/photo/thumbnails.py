"""Small upright copies of photographs, without anything the camera wrote (no place, no serial number)."""

from __future__ import annotations

import io
from typing import TYPE_CHECKING, Final

from unfasten.photo.decode import load, open_container
from unfasten.photo.facts import JPEG, PNG, PhotoError, PhotoFacts, PhotoLimits
from unfasten.photo.jpegmap import map_jpeg
from unfasten.photo.jpegtail import check_tail
from unfasten.photo.open import STANDARD, WIDE_MODES, on_white, photo_facts
from unfasten.photo.pngmap import check_rows

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
        return _jpeg(_small(data, known, longest_px), known.exposure.orientation)
    except PhotoError as error:
        raise PhotoError(error.code, error.where or known.name, error.message, error.remedy) from error


def _small(data: bytes, facts: PhotoFacts, longest_px: int) -> Image.Image:
    from PIL import Image as Images

    image = open_container(data, facts.media_type)
    image.draft("RGB", (longest_px, longest_px))  # decodes a JPEG at a half, quarter or eighth where that suffices
    load(image)
    if facts.media_type == JPEG:
        check_tail(data, map_jpeg(data))
    elif facts.media_type == PNG:
        check_rows(data)
    if image.mode in WIDE_MODES:
        image = image.convert("I").point([value >> 8 for value in range(65536)], "L")
    plain = image if image.mode == "RGB" else on_white(image)
    scale = min(1.0, longest_px / max(image.size))
    size = (max(1, round(image.width * scale)), max(1, round(image.height * scale)))
    return plain.resize(size, Images.Resampling.LANCZOS, reducing_gap=2.0)


def _jpeg(image: Image.Image, orientation: int) -> bytes:
    from PIL import Image as Images

    turns = Images.Transpose
    how = {
        2: turns.FLIP_LEFT_RIGHT,
        3: turns.ROTATE_180,
        4: turns.FLIP_TOP_BOTTOM,
        5: turns.TRANSPOSE,
        6: turns.ROTATE_270,
        7: turns.TRANSVERSE,
        8: turns.ROTATE_90,
    }.get(orientation)
    upright = image if how is None else image.transpose(how)
    upright.info.clear()
    out = io.BytesIO()
    upright.save(out, "JPEG", quality=_QUALITY, optimize=True)
    return out.getvalue()
