"""Lens profiles: calibrating a camera, keeping what was found, and telling which profile fits a photo."""

from __future__ import annotations

import os
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Final

import numpy as np

from unfasten.evidence.errors import CallError, DataError
from unfasten.evidence.filebytes import read_limited
from unfasten.photo.assumed import assumed
from unfasten.photo.calibrate import Calibration, calibrate
from unfasten.photo.facts import PhotoError
from unfasten.photo.lens import focal_px
from unfasten.photo.lensfile import TURNS, LensProfile, profile_of, read_profile, to_text
from unfasten.photo.markers import find_mat
from unfasten.photo.open import Photo, open_photo
from unfasten.photo.plane import Points
from unfasten.photo.scale import Optics
from unfasten.photo.vision import vision
from unfasten.service.settings import WORKSPACE

#: folder of lens profiles in a workspace
LENSES: Final = "lenses"
_SUFFIX: Final = ".lens.yaml"
_SAME: Final = 0.01


@dataclass(frozen=True, slots=True)
class Calibrated:
    """A calibrated camera: the profile, where it was written, and which photos could not be used, with the reason."""

    profile: LensProfile
    found: Calibration
    path: Path
    left_out: tuple[str, ...]


def lenses_dir(folder: Path | None) -> Path:
    """Folder of lens profiles: the one named, that of UNFASTEN_LENSES, or that of the default workspace."""
    named = os.environ.get("UNFASTEN_LENSES")
    return folder or (Path(named) if named else WORKSPACE / LENSES)


def load_profiles(folder: Path | None = None) -> tuple[LensProfile, ...]:
    """Every profile in the folder, by name; none where there is no folder. Raises `DataError` for a damaged file."""
    files = sorted(lenses_dir(folder).glob(f"*{_SUFFIX}"))
    return tuple(read_profile(read_limited(path), path.name) for path in files)


def calibrate_camera(photos: Sequence[Path], folder: Path | None, on: date) -> Calibrated:
    """Calibrate from photos of the mat and write the profile; photos in which no mat is found are left out.

    Raises `CallError` for photos of different cameras, `PhotoError` where too few can be used.
    """
    views: list[tuple[Points, Points]] = []
    used: list[Photo] = []
    left_out = []
    for path in photos:
        photo = open_photo(path)
        try:
            seen = find_mat(grey_of(photo), path.name)
        except PhotoError as error:
            left_out.append(str(error))
            continue
        views.append((seen.px, seen.mm))
        used.append(photo)
    first = _alike(used) if used else None
    found = calibrate(views, first.width if first else 0, first.height if first else 0)
    if first is None or first.exposure.focal_length is None or not first.facts.camera:
        message = "the photos do not say which camera and focal length took them"
        raise PhotoError("photo.no-camera", "calibration", message, "use the files as the camera wrote them")
    focal = first.exposure.focal_length
    profile = profile_of(found.lens, first.facts.camera, focal, found.rms, len(views), on, first.exposure.orientation)
    return Calibrated(profile, found, _write(profile, lenses_dir(folder)), tuple(left_out))


def _alike(photos: Sequence[Photo]) -> Photo:
    kinds = {(p.facts.camera, p.exposure.focal_length, p.width, p.height, p.exposure.orientation) for p in photos}
    if len(kinds) > 1:
        said = "; ".join(
            f"{camera or 'unknown'}, {focal or '?'} mm, {width} x {height} px, orientation {turn}"
            for camera, focal, width, height, turn in sorted(kinds, key=str)
        )
        message = f"the photos were not taken alike: {said}"
        remedy = "use photos of one camera, focal length and size, the camera held the same way up"
        raise CallError("photo.mixed-cameras", "calibration", message, remedy)
    if photos[0].exposure.orientation not in TURNS:
        message = "the photos are marked as mirrored"
        raise PhotoError("photo.mirrored", "calibration", message, "use the files as the camera wrote them")
    return photos[0]


def _write(profile: LensProfile, folder: Path) -> Path:
    path = folder / f"{profile.name}{_SUFFIX}"
    try:
        folder.mkdir(parents=True, exist_ok=True)
        path.write_text(to_text(profile), "utf-8")
    except OSError as error:
        why = (error.strerror or "it cannot be written").lower()
        raise DataError("photo.cannot-write", str(path), why, "name another folder with --lenses") from error
    return path


def optics_of(photo: Photo, profiles: Sequence[LensProfile]) -> tuple[LensProfile | None, Optics]:
    """The profile that fits a photo by camera, focal length and shape, and what is known of its camera otherwise."""
    shot = photo.exposure
    resized = any(remark.code == "photo.resized" for remark in photo.facts.remarks)
    for profile in () if resized else profiles:
        same = shot.focal_length is not None and abs(shot.focal_length / profile.focal_length - 1) < _SAME
        lens = profile.lens_at(shot.orientation) if same and profile.camera == photo.facts.camera else None
        if lens is not None and lens.fits(photo.width, photo.height):
            lens = lens.resized(photo.width, photo.height)
            return profile, Optics(photo.width, photo.height, lens, says=f"lens profile {profile.name}")
    focal = None
    if shot.focal_35 is not None and not resized:
        focal = focal_px(shot.focal_35, photo.width, photo.height)
    return None, Optics(photo.width, photo.height, None, focal, assumed("lens.exif-focal"))


def grey_of(photo: Photo) -> np.ndarray[tuple[int, ...], np.dtype[np.uint8]]:
    """The photo in grey (height x width)."""
    cv2 = vision()
    return np.asarray(cv2.cvtColor(photo.pixels, cv2.COLOR_BGR2GRAY), np.uint8)
