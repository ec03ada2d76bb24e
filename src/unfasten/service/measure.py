"""Measuring on a photo for the doors: what is asked, done, and given back as plain data."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from unfasten import __version__
from unfasten.evidence.errors import CallError
from unfasten.photo.assumed import assumed
from unfasten.photo.budget import dof_of_doubt
from unfasten.photo.card import card_scale, find_card, near_card, picked_card
from unfasten.photo.combine import combine
from unfasten.photo.lensfile import LensProfile
from unfasten.photo.markers import find_mat
from unfasten.photo.mat import CHECK_LINE
from unfasten.photo.measure import Pointing, measure, measure_holes
from unfasten.photo.open import Photo, open_photo
from unfasten.photo.plane import Points
from unfasten.photo.pose import Distance, Height
from unfasten.photo.reading import Reading
from unfasten.photo.ruler import length_scale
from unfasten.photo.scale import Object, Optics, Reference, Scaled, mat_scale, rectangle, scaled
from unfasten.service.camera import grey_of, optics_of
from unfasten.service.measureask import (
    Ask,
    CardScale,
    LengthScale,
    MatScale,
    RectangleScale,
    length_of,
    read_ask,
    with_u,
)


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
            "recipe": {**self.ask.model_dump(mode="json", exclude_defaults=True), "program": __version__},
        }


def measure_photo(
    source: bytes | Photo, name: str, tree: Mapping[str, Any] | Ask, profiles: Sequence[LensProfile] = ()
) -> Measured:
    """Measure on a photo; raises `PhotoError` for a photo and `CallError` for an ask that cannot be used."""
    ask = tree if isinstance(tree, Ask) else read_ask(tree)
    photo = source if isinstance(source, Photo) else open_photo(source, name)
    profile, optics = optics_of(photo, profiles)
    if ask.kind == "parts":
        message = "parts are found by themselves"
        raise CallError("photo.unknown-kind", "kind", message, "ask for the table of parts")
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


def pointing_of(ask: Ask) -> Pointing:
    """How well a point of this ask is picked: stated, or the assumed care."""
    u = assumed("pointing.u") if ask.pointing is None else ask.pointing
    how = "assumed" if ask.pointing is None else "stated"
    return Pointing(u, dof_of_doubt(assumed("pointing.doubt")), "B", f"picks {how} good to {u:g} px per coordinate")


def _once(found: Scaled, kind: str, reading: tuple[Any, ...], pointing: Pointing) -> tuple[Reading, ...]:
    if kind == "holes":
        return measure_holes(found.view, [points_of(hole) for hole in reading], pointing)
    return measure(found.view, kind, points_of(reading), pointing)


def points_of(picks: Any) -> Points:
    """Picks as rows of x and y [px]; raises `CallError` where something else is given."""
    try:
        points = np.array([[float(x), float(y)] for x, y in picks], float).reshape(-1, 2)
    except (TypeError, ValueError) as error:
        message = f"{picks!r} are no points"
        raise CallError("photo.picks", "readings", message, "write each as x and y in px, as [120, 340]") from error
    if not np.isfinite(points).all():
        raise CallError("photo.picks", "readings", "a point is not finite", "write each as x and y in px")
    return points


def scale_of(photo: Photo, ask: Ask, optics: Optics, pointing: Pointing) -> Scaled:
    """The view that the ask's scale gives on the photo."""
    about = Object(height_of(ask), distance_of(ask))
    scale = ask.scale
    doubt = assumed("pointing.doubt")
    if isinstance(scale, LengthScale):
        tilt = assumed("tilt.half-width") if scale.tilt is None else scale.tilt
        length = with_u(scale.length, "scale.length")
        return length_scale(points_of(scale.ends), length, pointing.u, doubt, optics, about, tilt)
    if isinstance(scale, RectangleScale):
        sides = with_u(scale.width, "scale.width"), with_u(scale.height, "scale.height")
        return scaled(rectangle(points_of(scale.corners), *sides, pointing.u, doubt), optics, about)
    if isinstance(scale, CardScale):
        return scaled(_card(photo, scale, optics, pointing), optics, about)
    return scaled(_mat(photo, scale), optics, about)


def _card(photo: Photo, scale: CardScale, optics: Optics, pointing: Pointing) -> Reference:
    if scale.corners is None:
        return card_scale(find_card(grey_of(photo), optics, photo.facts.name or "photo"))
    corners = points_of(scale.corners)
    fitted = near_card(grey_of(photo), corners, optics.lens)
    return picked_card(corners, pointing.u, assumed("pointing.doubt")) if fitted is None else card_scale(fitted)


def _mat(photo: Photo, scale: MatScale) -> Reference:
    seen = find_mat(grey_of(photo), photo.facts.name or "photo")
    return mat_scale(seen.px, seen.mm, checks_of(scale), CHECK_LINE)


def checks_of(scale: MatScale) -> list[tuple[float, float]]:
    """Readings of the mat's check lines (value, u) [mm]."""
    return [with_u(text, f"scale.check_lines[{index}]") for index, text in enumerate(scale.check_lines)]


def height_of(ask: Ask) -> Height | None:
    """The stated height of the object [mm]; raises `CallError` where it has no uncertainty."""
    if ask.height is None:
        return None
    value, u = length_of(ask.height, "height", positive=False)
    if u is None:
        message = f"the height {ask.height!r} has no uncertainty"
        raise CallError("photo.ask", "height", message, "write how well it is known, such as '2.1 ± 0.1 mm'")
    return Height(value, u)


def distance_of(ask: Ask) -> Distance | None:
    """The stated distance of the camera [mm]."""
    return None if ask.distance is None else Distance(*with_u(ask.distance, "distance"))
