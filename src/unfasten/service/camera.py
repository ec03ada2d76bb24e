"""Lens profiles: which one fits a photo, and what is known of the camera where none does."""

from __future__ import annotations

from dataclasses import dataclass

from unfasten.photo.assumed import assumed
from unfasten.photo.lens import Lens, focal_px
from unfasten.photo.open import Photo
from unfasten.photo.scale import Optics


@dataclass(frozen=True, slots=True)
class Profile:
    """A calibrated lens with the camera and focal length [mm] that it belongs to."""

    name: str
    camera: str
    focal_length: float
    lens: Lens


def optics_of(photo: Photo, profiles: tuple[Profile, ...]) -> tuple[Profile | None, Optics, list[str]]:
    """The profile that fits a photo, what is known of its camera, and what to tell."""
    shot = photo.exposure
    resized = any(remark.code == "photo.resized" for remark in photo.facts.remarks)
    for profile in profiles:
        same = shot.focal_length is not None and abs(shot.focal_length / profile.focal_length - 1) < 0.01
        if profile.camera == photo.facts.camera and same and not resized:
            try:
                lens = profile.lens.resized(photo.width, photo.height)
            except ValueError:
                continue
            says = f"lens profile {profile.name}"
            return profile, Optics(photo.width, photo.height, lens, says=says), []
    focal = None
    if shot.focal_35 is not None and not resized:
        focal = focal_px(shot.focal_35, photo.width, photo.height)
    return None, Optics(photo.width, photo.height, None, focal, assumed("lens.exif-focal")), []
