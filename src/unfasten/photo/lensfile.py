"""Lens profiles as files: camera, focal length, the numbers of the lens and their covariance."""

from __future__ import annotations

import re
from datetime import date
from types import MappingProxyType
from typing import Annotated, Final, Literal

import numpy as np
import yaml
from pydantic import BaseModel, ConfigDict, Field, ValidationError

from unfasten.evidence.datafile import read_data
from unfasten.evidence.errors import DataError
from unfasten.photo.lens import NUMBERS, Lens

FORMAT: Final = "unfasten-lens/1"
#: orientation (TIFF 6.0) -> quarters by which the sensor's picture was turned to stand upright
TURNS: Final = MappingProxyType({1: 0, 6: 1, 3: 2, 8: 3})
_MEND: Final = "calibrate the camera again, or mend the file"
_Row = Annotated[tuple[float, ...], Field(min_length=9, max_length=9)]


class LensProfile(BaseModel):
    """A calibrated lens and the photos it belongs to: `camera` and `focal_length` [mm] as EXIF gives them.

    The numbers are those of the upright photo; `orientation` (TIFF 6.0) tells how the camera was held.
    """

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)

    format: Literal["unfasten-lens/1"] = FORMAT
    camera: str = Field(min_length=1, max_length=200)
    focal_length: float = Field(gt=0, lt=10000)
    width: int = Field(gt=0, le=100_000)
    height: int = Field(gt=0, le=100_000)
    orientation: Literal[1, 3, 6, 8] = 1
    numbers: dict[str, float]
    covariance: Annotated[tuple[_Row, ...], Field(min_length=9, max_length=9)]
    rms: float = Field(ge=0)
    photos: int = Field(ge=1)
    on: date

    @property
    def name(self) -> str:
        """A name for the file: camera and focal length in lower-case words."""
        return re.sub(r"[^a-z0-9]+", "-", f"{self.camera} {self.focal_length:g} mm".lower()).strip("-")

    @property
    def lens(self) -> Lens:
        """The lens, for photos taken as those were that it was calibrated from."""
        numbers = tuple(self.numbers[name] for name in NUMBERS)
        return Lens(self.width, self.height, numbers, np.array(self.covariance))

    def lens_at(self, orientation: int) -> Lens | None:
        """The lens for upright photos of this orientation (TIFF 6.0); None for mirrored ones."""
        if orientation not in TURNS:
            return None
        return self.lens.turned(TURNS[orientation] - TURNS[self.orientation])


def profile_of(
    lens: Lens, camera: str, focal_length: float, rms: float, photos: int, on: date, orientation: int = 1
) -> LensProfile:
    """The profile of a calibrated lens; `ValueError` if its covariance was not assessed."""
    if lens.cov is None:
        raise ValueError("a profile needs a covariance")
    numbers = dict(zip(NUMBERS, lens.numbers, strict=True))
    rows = tuple(tuple(float(cell) for cell in row) for row in lens.cov)
    return LensProfile.model_validate(
        {
            "camera": camera,
            "focal_length": focal_length,
            "width": lens.width,
            "height": lens.height,
            "orientation": orientation,
            "numbers": numbers,
            "covariance": rows,
            "rms": rms,
            "photos": photos,
            "on": on,
        }
    )


def to_text(profile: LensProfile) -> str:
    """The file of a profile; `read_profile` gives the equal profile back."""
    return yaml.safe_dump(profile.model_dump(mode="json"), sort_keys=False, allow_unicode=True, width=110)


def read_profile(data: bytes, name: str) -> LensProfile:
    """Read a profile; raises `DataError` that lists everything wrong with the file."""
    document = read_data(data, name)
    if document.problems:
        raise _invalid(name, "; ".join(str(problem) for problem in document.problems))
    try:
        profile = LensProfile.model_validate(document.value)
    except ValidationError as error:
        wrong = [f"{'.'.join(str(part) for part in item['loc'])}: {item['msg'].lower()}" for item in error.errors()]
        raise _invalid(name, "; ".join(wrong)) from error
    if set(profile.numbers) != set(NUMBERS):
        raise _invalid(name, f"numbers: the lens has {', '.join(NUMBERS)}")
    cov = np.array(profile.covariance)
    if not np.allclose(cov, cov.T, rtol=1e-6, atol=0) or bool((np.diag(cov) < 0).any()):
        raise _invalid(name, "covariance: it is not symmetric, or a variance is negative")
    return profile


def _invalid(name: str, message: str) -> DataError:
    return DataError("photo.lens-file", name, message, _MEND)
