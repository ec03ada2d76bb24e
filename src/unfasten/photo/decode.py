"""Opening the container of a photograph with Pillow: size, EXIF and frames are known before any pixel is decoded."""

from __future__ import annotations

import io
import struct
import zlib
from typing import TYPE_CHECKING, Final

from unfasten.photo.facts import HEIC, JPEG, PhotoError, PhotoLimits
from unfasten.photo.jpegmap import without_app1
from unfasten.photo.sniff import is_sequence

if TYPE_CHECKING:
    from PIL import Image

#: pixels of 16 bits of grey
WIDE_MODES: Final = ("I;16", "I;16B", "I;16L", "I;16N", "I")
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
        if is_sequence(data):
            message = "this HEIC is a sequence (a burst) without a still picture"
            raise PhotoError("photo.animated", "", message, "export the one picture you mean") from error
        raise _broken(error) from error


def load(image: Image.Image) -> Image.Image:
    """Decode the pixels; raises `PhotoError` if they are cut short or damaged."""
    try:
        image.load()
    except DAMAGE as error:
        raise _broken(error) from error
    return image


def in_colour(image: Image.Image) -> Image.Image:
    """The picture in red, green and blue, 8 bits each: of 16 bits the upper 8, what is transparent becomes white."""
    from PIL import Image as Images

    if image.mode == "RGB":
        return image
    if image.mode in WIDE_MODES:
        return image.convert("I").point([value >> 8 for value in range(65536)], "L").convert("RGB")
    if image.mode not in ("RGBA", "LA", "PA") and "transparency" not in image.info:
        return image.convert("RGB")
    whole = image.convert("RGBA")
    white = Images.new("RGBA", whole.size, "white")
    return Images.alpha_composite(white, whole).convert("RGB")


def upright(image: Image.Image, orientation: int) -> Image.Image:
    """Turn and mirror after the orientation of TIFF 6.0 (1 to 8)."""
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
    return image if how is None else image.transpose(how)


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


def _broken(error: BaseException) -> PhotoError:
    """The refusal of a picture that a reader could not decode: cut short, or damaged."""
    text = str(error).lower()
    if "truncated" in text or "end of file" in text:
        return PhotoError("photo.truncated", "", "the file ends before the picture does", _AGAIN)
    return PhotoError("photo.damaged", "", f"the picture cannot be decoded ({_said(error)})", _AGAIN)


def _said(error: BaseException) -> str:
    text = " ".join(str(error).split())
    return text[:80] or type(error).__name__
