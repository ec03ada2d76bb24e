"""Opening the container of a photograph with Pillow: size, EXIF and frames are known before any pixel is decoded."""

from __future__ import annotations

import io
import struct
import zlib
from typing import TYPE_CHECKING, Final

from unfasten.photo.facts import HEIC, JPEG, PhotoError, PhotoLimits
from unfasten.photo.jpegmap import without_app1

if TYPE_CHECKING:
    from PIL import Image

#: what the readers raise on damaged bytes
DAMAGE: Final = (
    OSError,
    SyntaxError,
    ValueError,
    EOFError,
    IndexError,
    KeyError,
    OverflowError,
    struct.error,
    zlib.error,
)
_AGAIN: Final = "copy it from the camera again"


def open_container(data: bytes, kind: str) -> Image.Image:
    """The picture of this media type, not yet decoded; raises `PhotoError` where its header cannot be read."""
    if kind == HEIC:
        return _open_heic(data)
    from PIL import JpegImagePlugin, PngImagePlugin

    # the classes themselves: `Image.open` would try other formats, and warn instead of refusing
    try:
        if kind == JPEG:
            return JpegImagePlugin.JpegImageFile(io.BytesIO(without_app1(data)))
        return PngImagePlugin.PngImageFile(io.BytesIO(data))
    except DAMAGE as error:
        raise PhotoError("photo.damaged", "", f"the header cannot be read ({_said(error)})", _AGAIN) from error


def _open_heic(data: bytes) -> Image.Image:
    try:
        from pillow_heif.as_plugin import HeifImageFile
    except ModuleNotFoundError as error:
        remedy = "install the extra `photo`, or export the picture as JPEG"
        raise PhotoError("photo.heic-needs-extra", "", "HEIC cannot be read by this installation", remedy) from error
    try:
        return HeifImageFile(io.BytesIO(data))  # type: ignore[no-untyped-call]
    except DAMAGE as error:
        raise PhotoError("photo.damaged", "", f"the HEIC cannot be read ({_said(error)})", _AGAIN) from error


def load(image: Image.Image) -> Image.Image:
    """Decode the pixels; raises `PhotoError` if they are cut short or damaged."""
    try:
        image.load()
    except DAMAGE as error:
        cut = "truncated" in str(error).lower()
        code = "photo.truncated" if cut else "photo.damaged"
        what = "the file ends before the picture does" if cut else f"the picture cannot be decoded ({_said(error)})"
        raise PhotoError(code, "", what, _AGAIN) from error
    return image


def check_size(size: tuple[int, int], limits: PhotoLimits, coded: int | None = None) -> None:
    """Refuse a picture with more pixels than the limit, or more than `coded` bytes of a JPEG scan can hold.

    Every block of 8 x 8 samples takes at least one bit of a JPEG scan (ITU-T T.81 F.1.2, G.1.2).
    """
    width, height = size
    if width < 1 or height < 1:
        raise PhotoError("photo.damaged", "", f"the header says {width} x {height} pixels", _AGAIN)
    if width * height > limits.pixels:
        message = f"{width} x {height} pixels are more than the {limits.pixels / 1e6:g} million that are taken"
        raise PhotoError("photo.too-many-pixels", "", message, "save it smaller, or cut it to what is measured")
    if coded is not None and -(-width // 8) * -(-height // 8) > 8 * coded:
        message = f"the header says {width} x {height} pixels, but {coded} bytes cannot hold so many"
        raise PhotoError("photo.size-lies", "", message, _AGAIN)


def _said(error: BaseException) -> str:
    text = " ".join(str(error).split())
    return text[:80] or type(error).__name__
