"""Readings from picks on a photo."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from unfasten import __version__
from unfasten.evidence.errors import CallError
from unfasten.photo.combine import combine
from unfasten.photo.lensfile import LensProfile
from unfasten.photo.measure import Pointing, measure, measure_holes
from unfasten.photo.open import Photo
from unfasten.photo.reading import Reading
from unfasten.photo.scale import Scaled
from unfasten.service.camera import optics_of
from unfasten.service.measureask import Ask
from unfasten.service.measurescale import pointing_of, points_of, scale_of


@dataclass(frozen=True, slots=True)
class Measured:
    """The readings of one measurement, on which photo, with which scale, and how to do it again."""

    photo: Photo
    ask: Ask
    scaled: Scaled
    readings: tuple[Reading, ...]
    profile: LensProfile | None
    notes: tuple[str, ...]

    def as_json(self) -> dict[str, object]:
        """Give the JSON form; `recipe` with the photo gives the same figures again."""
        pose = self.scaled.pose
        return {
            "photo": {"name": self.photo.facts.name, "sha256": self.photo.sha256},
            "kind": self.ask.kind,
            "scale": self.scaled.kind,
            "readings": [reading.as_json() for reading in self.readings],
            "camera": None if pose is None else {"distance_mm": pose.height, "tilt_deg": pose.tilt},
            "lens": None if self.profile is None else self.profile.name,
            "notes": list(self.notes),
            "recipe": {**self.ask.recipe(), "program": __version__},
        }


def measure_picks(photo: Photo, ask: Ask, profiles: Sequence[LensProfile] = ()) -> Measured:
    """Measure what is picked; raises `PhotoError` for a photo and `CallError` for an ask that cannot be used."""
    profile, optics = optics_of(photo, profiles)
    if not ask.readings:
        raise CallError("photo.picks", "readings", "nothing is picked", "give the points to measure between")
    pointing = pointing_of(ask)
    found = scale_of(photo, ask, optics, pointing)
    each = [_once(found, ask.kind, reading, pointing) for reading in ask.readings]
    if len({len(one) for one in each}) > 1:
        raise CallError("photo.picks", "readings", "the readings differ in what they pick", "pick the same each time")
    combined = tuple(combine(same) for same in zip(*each, strict=True))
    notes = tuple(dict.fromkeys([*(str(remark) for remark in photo.facts.remarks), *found.notes]))
    return Measured(photo, ask, found, combined, profile, notes)


def _once(found: Scaled, kind: str, reading: tuple[Any, ...], pointing: Pointing) -> tuple[Reading, ...]:
    if kind == "holes":
        return measure_holes(found.view, [points_of(hole) for hole in reading], pointing)
    return measure(found.view, kind, points_of(reading), pointing)
