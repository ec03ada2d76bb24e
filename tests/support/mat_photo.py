"""Rendered photos of the bench mat with known truth, and the files that a camera would have written."""

from __future__ import annotations

import io
from collections.abc import Sequence
from functools import cache

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from unfasten.photo.lens import Lens
from unfasten.photo.mat import mat_of
from unfasten.photo.rendered import INK, Camera, Sheet, camera_over, mat_sheet, photograph

Picture = NDArray[np.uint8]
#: a lens that bends lines as a wide phone camera does
BENT = (-0.12, 0.05, 0.0005, -0.0004, 0.0)
#: a disc that is printed on the mat of `mat_photo`: centre and diameter [mm]
DISC = ((100.0, 80.0), 20.0)


def lens_of(width: int, height: int, focal: float, bend: Sequence[float] = (0.0,) * 5) -> Lens:
    """A lens with its axis a little off the middle."""
    return Lens(width, height, (focal, focal, width / 2 - 3.0, height / 2 + 2.0, *bend))


@cache
def _mat(size: str) -> Sheet:
    return mat_sheet(mat_of(size))


def fresh_mat(size: str = "A4") -> Sheet:
    """The printed mat, to be drawn on."""
    sheet = _mat(size)
    return Sheet(sheet.light.copy(), sheet.scale)


@cache
def mat_photo(
    tilt: float = 20.0, width: int = 1200, height: int = 900, seed: int = 1, bend: tuple[float, ...] = (0.0,) * 5
) -> tuple[Picture, Camera]:
    """A grey photo of the A4 mat with one disc, and the camera that took it."""
    sheet = fresh_mat()
    sheet.disc(*DISC, INK)
    camera = camera_over(lens_of(width, height, width, bend), (148.5, 105.0), 400.0, tilt, 30.0, 10.0)
    return photograph([sheet], camera, np.random.default_rng(seed)), camera


def png_of(picture: Picture) -> bytes:
    """The photo as a PNG without EXIF."""
    return _saved(picture, "PNG")


def jpeg_of(
    picture: Picture, make: str = "Fellwright", model: str = "Tarn 11", focal: float = 6.0, focal_35: int = 35
) -> bytes:
    """The photo as a JPEG with what a camera writes."""
    exif = Image.Exif()
    exif[0x010F], exif[0x0110] = make, model
    details = exif.get_ifd(0x8769)
    details[0x920A], details[0xA405] = focal, focal_35
    details[0xA002], details[0xA003] = picture.shape[1], picture.shape[0]
    return _saved(picture, "JPEG", quality=95, exif=exif)


def _saved(picture: Picture, kind: str, **options: object) -> bytes:
    out = io.BytesIO()
    Image.fromarray(picture).save(out, kind, **options)
    return out.getvalue()


def round_picks(points: NDArray[np.float64]) -> list[list[float]]:
    """Picks as a page sends them."""
    return [[round(float(x), 2), round(float(y), 2)] for x, y in points]
