"""What is known of a photograph without looking at its pixels, and how much of one is taken."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime
from typing import Final

from unfasten.evidence.errors import DataError

JPEG: Final = "image/jpeg"
PNG: Final = "image/png"
HEIC: Final = "image/heic"
#: media type -> (how the format is called, usual suffixes, the first one preferred)
FORMATS: Final = {
    JPEG: ("JPEG", ("jpg", "jpeg", "jpe", "jfif")),
    PNG: ("PNG", ("png",)),
    HEIC: ("HEIC", ("heic", "heif", "hif")),
}


class PhotoError(DataError):
    """A file that cannot be used as a photograph."""


@dataclass(frozen=True, slots=True)
class PhotoLimits:
    """Most bytes of a file [byte] and pixels of a picture [px] that are taken; both are checked before decoding."""

    bytes: int = 128 * 1024 * 1024
    pixels: int = 100_000_000


@dataclass(frozen=True, slots=True)
class PhotoRemark:
    """Something odd about a photograph that can be used all the same."""

    code: str
    message: str
    remedy: str

    def __str__(self) -> str:
        """Give one line."""
        return f"{self.message}; {self.remedy} [{self.code}]"

    def as_json(self) -> dict[str, str]:
        """Code, message and remedy."""
        return {"code": self.code, "message": self.message, "try": self.remedy}


@dataclass(frozen=True, slots=True)
class Exposure:
    """What the camera wrote into the photograph; None or empty where it wrote nothing that can be read.

    `focal_length` and `focal_35` in mm; `size` is the picture as it left the camera, in px; `orientation` 1 to 8 after
    TIFF 6.0; `has_position` tells whether the place of the photograph is written in it.
    """

    taken: datetime | None = None
    make: str = ""
    model: str = ""
    focal_length: float | None = None
    focal_35: float | None = None
    orientation: int = 1
    size: tuple[int, int] | None = None
    has_position: bool = False


@dataclass(frozen=True, slots=True)
class PhotoFacts:
    """A photograph without its pixels: `width` and `height` [px] are those of the upright picture."""

    name: str
    media_type: str
    bytes: int
    sha256: str
    width: int
    height: int
    exposure: Exposure = field(default_factory=Exposure)
    remarks: tuple[PhotoRemark, ...] = ()

    @property
    def camera(self) -> str:
        """Make and model as one text; the make is not said twice."""
        make, model = self.exposure.make, self.exposure.model
        return model if model.lower().startswith(make.lower()) else f"{make} {model}".strip()

    @property
    def size_vouched(self) -> bool:
        """Tell whether the camera wrote the size that the picture has."""
        return self.exposure.size in ((self.width, self.height), (self.height, self.width))

    def as_json(self) -> dict[str, object]:
        """Everything known, for a page or a program; None stands for what the photograph does not tell."""
        shot = self.exposure
        return {
            "name": self.name,
            "media_type": self.media_type,
            "bytes": self.bytes,
            "sha256": self.sha256,
            "width": self.width,
            "height": self.height,
            "taken": None if shot.taken is None else shot.taken.isoformat(),
            "camera": self.camera or None,
            "focal_length_mm": shot.focal_length,
            "focal_length_35mm": shot.focal_35,
            "has_position": shot.has_position,
            "remarks": [remark.as_json() for remark in self.remarks],
        }
