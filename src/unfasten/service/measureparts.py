"""The table of parts laid out on the mat, for the doors."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from unfasten import __version__
from unfasten.evidence.errors import CallError
from unfasten.photo.lensfile import LensProfile
from unfasten.photo.markers import find_mat
from unfasten.photo.open import Photo
from unfasten.photo.parts import FoundHole, FoundPart, contour_mm, find_parts
from unfasten.photo.scale import Object, Scaled, scaled
from unfasten.service.camera import grey_of, optics_of
from unfasten.service.measureask import Ask, MatScale
from unfasten.service.measurescale import distance_of, height_of, mat_reference, screen_note

#: what a flag means to a person
FLAGS: Final = {
    "leaves-field": "it reaches the edge of the field: move it in",
    "may-touch": "it has a neck, as two parts have that touch: move them apart, or say that it is one",
    "unclear-edge": "its edge is not clear: use softer light or another ground",
}


@dataclass(frozen=True, slots=True)
class PartsTable:
    """Every part found on the mat, and what to tell with it."""

    photo: Photo
    ask: Ask
    scaled: Scaled
    parts: tuple[FoundPart, ...]
    profile: LensProfile | None
    notes: tuple[str, ...]

    def as_json(self) -> dict[str, object]:
        """Give the JSON form; outlines in the photo [px] and on the mat [mm]."""
        pose = self.scaled.pose
        return {
            "photo": {"name": self.photo.facts.name, "sha256": self.photo.sha256},
            "kind": "parts",
            "scale": "mat",
            "parts": [self._part(part) for part in self.parts],
            "height": self.ask.height,
            "camera": None if pose is None else {"distance_mm": pose.height, "tilt_deg": pose.tilt},
            "lens": None if self.profile is None else self.profile.name,
            "notes": list(self.notes),
            "recipe": {**self.ask.recipe(), "program": __version__},
        }

    def _part(self, part: FoundPart) -> dict[str, object]:
        rounded = [[round(float(x), 2), round(float(y), 2)] for x, y in part.outline.points]
        mm = [[round(float(x), 3), round(float(y), 3)] for x, y in contour_mm(part, self.scaled.view)]
        return {
            "letter": part.letter,
            "flags": [{"flag": flag, "says": FLAGS[flag]} for flag in part.flags],
            **{reading.name.replace(" ", "_"): reading.as_json() for reading in part.readings},
            "holes": [_hole(hole) for hole in part.holes],
            "outline_px": rounded,
            "outline_mm": mm,
        }


def _hole(hole: FoundHole) -> dict[str, object]:
    """Its middle, and its diameter if it is round."""
    told = hole.readings if hole.round else hole.readings[:2]
    return {"round": hole.round, **{reading.name.replace(" ", "_"): reading.as_json() for reading in told}}


def measure_parts(photo: Photo, ask: Ask, profiles: Sequence[LensProfile] = ()) -> PartsTable:
    """Find and measure every part on the mat in a photo; raises `PhotoError` where no mat is in view.

    The height of the ask holds for all parts alike: lay out parts of one thickness, or measure the others alone.
    """
    if not isinstance(ask.scale, MatScale):
        message = f'parts are laid out on the mat, not beside a "{ask.scale.kind}"'
        raise CallError("photo.unknown-kind", "scale", message, "use the mat, or measure outlines by picks")
    profile, optics = optics_of(photo, profiles)
    grey = grey_of(photo)
    seen = find_mat(grey, photo.facts.name or "photo")
    found = scaled(mat_reference(seen, ask.scale), optics, Object(height_of(ask), distance_of(ask)))
    parts = find_parts(photo.pixels, grey, found.view, seen.mat.field)
    notes = [*(str(remark) for remark in photo.facts.remarks), *screen_note(grey, found, seen), *found.notes]
    notes += [f"part {part.letter}: {FLAGS[flag]}" for part in parts for flag in part.flags]
    if not parts:
        notes.append("nothing lies on the plain field, or it is as light as the paper")
    return PartsTable(photo, ask, found, parts, profile, tuple(dict.fromkeys(notes)))
