"""Readings from picks on a photo."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from unfasten import __version__
from unfasten.evidence.errors import CallError, DataError
from unfasten.photo.combine import combine
from unfasten.photo.edges import Grey
from unfasten.photo.holes import measure_holes, rim_pattern
from unfasten.photo.lensfile import LensProfile
from unfasten.photo.measure import HOLES, Pointing, check_picks, kind_of, measure
from unfasten.photo.open import Photo
from unfasten.photo.outline import CIRCLE, LEAST_FOUND, SIZES, Outline, outline_readings, rim_of, sizes, trace
from unfasten.photo.reading import Reading
from unfasten.photo.scale import Scaled
from unfasten.photo.shapes import circle
from unfasten.photo.view import View
from unfasten.service.camera import grey_of, optics_of
from unfasten.service.measureask import Ask
from unfasten.service.measurescale import pointing_of, points_of, scale_of

Readings = tuple[Reading, ...]


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
            "height": self.ask.height,
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
    grey = grey_of(photo) if ask.edge else None
    each = [_once(found, grey, ask.kind, reading, pointing) for reading in ask.readings]
    if len({len(one) for one in each}) > 1:
        raise CallError("photo.picks", "readings", "the readings differ in what they pick", "pick the same each time")
    combined = tuple(combine(same) for same in zip(*each, strict=True))
    notes = tuple(dict.fromkeys([*(str(remark) for remark in photo.facts.remarks), *found.notes]))
    return Measured(photo, ask, found, combined, profile, notes)


def _once(found: Scaled, grey: Grey | None, kind: str, reading: tuple[Any, ...], pointing: Pointing) -> Readings:
    """One reading; with the grey photo its picks are rough and the edge of light is drawn."""
    if grey is not None:
        return _by_light(found.view, grey, kind, reading)
    if kind == HOLES:
        return measure_holes(found.view, [points_of(hole) for hole in reading], pointing)
    return measure(found.view, kind, points_of(reading), pointing)


def _by_light(view: View, grey: Grey, kind: str, reading: tuple[Any, ...]) -> Readings:
    if kind == HOLES:
        rims = [points_of(hole) for hole in reading]
        for rim in rims:
            check_picks(kind_of("diameter"), len(rim))
        return rim_pattern(view, [_clear(rim_of(grey, view, rim)) for rim in rims])
    points = points_of(reading)
    check_picks(kind_of(kind), len(points))
    if kind == "diameter":
        return outline_readings(view, _clear(rim_of(grey, view, points)), circle, CIRCLE)[::-1]
    if kind == "area":
        found = outline_readings(view, _clear(trace(grey, points)), sizes, SIZES)
        return tuple(sorted(found, key=lambda one: one.name != "area"))
    message = f"a {kind} has no edge that light could draw"
    raise CallError("photo.no-edge", "edge", message, "leave edge out, or measure a diameter, holes or an area")


def _clear(outline: Outline) -> Outline:
    if outline.found < LEAST_FOUND:
        message = f"only {outline.found:.0%} of the edge near the picks is clear"
        raise DataError("photo.no-edge", "edge", message, "pick nearer to the edge, or measure by picks alone")
    return outline
