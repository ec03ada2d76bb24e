"""Opening a photograph: what it is, when and with which camera it was taken, and its pixels when they are asked for."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, field, replace
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Final

from unfasten.evidence.filebytes import read_limited
from unfasten.photo.decode import WIDE_MODES, check_size, in_colour, load, open_container, upright
from unfasten.photo.exif import read_exposure
from unfasten.photo.facts import HEIC, JPEG, PNG, Exposure, PhotoError, PhotoFacts, PhotoLimits, PhotoRemark
from unfasten.photo.jpegmap import map_jpeg
from unfasten.photo.jpegtail import FILLING, check_tail
from unfasten.photo.pngmap import check_rows, png_end
from unfasten.photo.sniff import boxes_end, check_hidden, media_type, name_remarks

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray
    from PIL import Image

STANDARD: Final = PhotoLimits()


@dataclass(frozen=True)
class Photo:
    """A photograph. `pixels` are decoded when they are first asked for."""

    facts: PhotoFacts
    data: bytes = field(repr=False)

    @property
    def width(self) -> int:
        """Columns of the upright picture [px]."""
        return self.facts.width

    @property
    def height(self) -> int:
        """Rows of the upright picture [px]."""
        return self.facts.height

    @property
    def sha256(self) -> str:
        """Checksum of the file, in hexadecimal."""
        return self.facts.sha256

    @property
    def exposure(self) -> Exposure:
        """What the camera wrote."""
        return self.facts.exposure

    @cached_property
    def pixels(self) -> NDArray[np.uint8]:
        """The upright picture, shape (height, width, 3), blue, green, red; `PhotoError` if it cannot be decoded.

        The array is not to be changed (it is marked so).
        """
        return _pixels(self.facts, self.data)


def open_photo(source: Path | str | bytes, name: str = "", limits: PhotoLimits = STANDARD) -> Photo:
    """Open a photograph by its path or its bytes (then `name` tells the suffix).

    Raises `PhotoError` for a file that is no usable photograph, `CallError` where there is no such file.
    """
    if isinstance(source, bytes):
        return Photo(photo_facts(source, name, limits), source)
    path = Path(source)
    data = read_limited(path, limits.bytes)
    return Photo(photo_facts(data, name or path.name, limits), data)


def photo_facts(data: bytes, name: str = "", limits: PhotoLimits = STANDARD) -> PhotoFacts:
    """What is known of a photograph without decoding it; needs Pillow only (and `pillow-heif` for HEIC).

    Raises `PhotoError` with `name` as its place: empty, too large, no picture, another format, several things in one.
    """
    try:
        return _facts(data, name, limits)
    except PhotoError as error:
        raise PhotoError(error.code, error.where or name, error.message, error.remedy) from error


def _facts(data: bytes, name: str, limits: PhotoLimits) -> PhotoFacts:
    if len(data) > limits.bytes:
        message = f"the file is larger than {limits.bytes / 1024 / 1024:g} MB"
        raise PhotoError("photo.too-large", name, message, "save it with a lower quality, or smaller")
    kind = media_type(data)
    remarks = [*name_remarks(name, kind)]
    coded, exif = None, None
    if kind == JPEG:
        found = map_jpeg(data)
        coded, exif = found.end - found.scan, found.exif
        remarks += check_hidden(data, found.end, found.comments)
        if found.several:
            remarks.append(_several("the file holds further pictures; the first is used"))
    elif kind == PNG:
        remarks += check_hidden(data, png_end(data), b"")
    else:
        remarks += check_hidden(data, boxes_end(data), b"")
    image = open_container(data, kind)
    check_size(image.size, limits, coded)
    remarks += _frames(image, kind)
    exposure, sound = read_exposure(exif or _exif_bytes(image))
    if not sound:
        message = "what the camera wrote (EXIF) is partly unreadable and was left out"
        remarks.append(PhotoRemark("photo.exif-unreadable", message, "state the camera and the day by hand"))
    if kind == HEIC:
        exposure = replace(exposure, orientation=1)  # its reader has turned the picture upright already
    remarks += _modes(image) + _resized(image.size, exposure)
    width, height = image.size if exposure.orientation < 5 else image.size[::-1]
    digest = hashlib.sha256(data).hexdigest()
    return PhotoFacts(name, kind, len(data), digest, width, height, exposure, tuple(remarks))


def _exif_bytes(image: Image.Image) -> bytes | None:
    exif = image.info.get("exif")
    return exif if isinstance(exif, bytes) else None


def _several(message: str) -> PhotoRemark:
    return PhotoRemark("photo.several-pictures", message, "export the one you mean if it is another")


def _frames(image: Image.Image, kind: str) -> list[PhotoRemark]:
    count = int(getattr(image, "n_frames", 1))
    if count <= 1:
        return []
    if kind == PNG:
        message = f"this PNG is animated ({count} frames)"
        raise PhotoError("photo.animated", "", message, "save the one frame you mean as a still picture")
    number = image.tell() + 1
    return [_several(f"the file holds {count} pictures (a burst or a set); number {number}, its primary one, is used")]


def _modes(image: Image.Image) -> list[PhotoRemark]:
    if image.mode == "CMYK":
        message = "the picture is in printing colours (CMYK); shapes are right, colours only roughly"
        return [PhotoRemark("photo.cmyk", message, "use the file as the camera wrote it")]
    if image.mode in WIDE_MODES:
        message = "the picture has 16 bits a pixel; the upper 8 are used"
        return [PhotoRemark("photo.deep", message, "nothing to do, unless fine shades matter")]
    return []


def _resized(size: tuple[int, int], exposure: Exposure) -> list[PhotoRemark]:
    """A remark where the camera wrote another size than the picture has: a lens profile does not fit a cut picture."""
    if exposure.size is None or exposure.size in (size, size[::-1]):
        return []
    (width, height), (now, rows) = exposure.size, size
    message = f"the camera wrote {width} x {height} pixels, the picture has {now} x {rows}: it was cut or resized"
    return [PhotoRemark("photo.resized", message, "measure on the file as the camera wrote it")]


def _pixels(facts: PhotoFacts, data: bytes) -> NDArray[np.uint8]:
    import numpy as np

    image = open_container(data, facts.media_type)
    if facts.media_type == JPEG and image.mode in ("RGB", "L") and (quick := _by_opencv(facts, data)) is not None:
        return quick
    image = in_colour(load(image))
    check_whole(
        facts, data, lost=image.crop((0, image.height - 1, *image.size)).getcolors(1) == [(image.width, FILLING)]
    )
    packed = np.frombuffer(upright(image, facts.exposure.orientation).tobytes("raw", "BGR"), np.uint8)
    return packed.reshape(facts.height, facts.width, 3)


def _by_opencv(facts: PhotoFacts, data: bytes) -> NDArray[np.uint8] | None:
    """The same pixels in less time and memory; None where OpenCV is not installed or finds fault."""
    try:
        import cv2
    except ModuleNotFoundError:
        return None
    import numpy as np

    flat = cv2.imdecode(np.frombuffer(data, np.uint8), cv2.IMREAD_COLOR | cv2.IMREAD_IGNORE_ORIENTATION)
    if flat is None:
        return None
    check_whole(facts, data, lost=bool((flat[-1] == FILLING).all()))
    how = facts.exposure.orientation
    turned = cv2.transpose(flat) if how >= 5 else flat
    flips = {2: 1, 3: -1, 4: 0, 6: 1, 7: -1, 8: 0}
    out = np.asarray(cv2.flip(turned, flips[how]) if how in flips else turned, np.uint8)
    out.flags.writeable = False
    return out


def check_whole(facts: PhotoFacts, data: bytes, *, lost: bool) -> None:
    """Raise `PhotoError` if the file does not hold all that its header says.

    A size that the camera wrote besides vouches for a JPEG, unless its last row is the grey of missing data (`lost`).
    """
    if facts.media_type == PNG:
        check_rows(data)
    elif facts.media_type == JPEG and (lost or not facts.size_vouched):
        check_tail(data, map_jpeg(data))
