"""From what is asked to the view that a photo is measured on: pointing, scale, height."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np

from unfasten.evidence.errors import CallError
from unfasten.photo.assumed import assumed
from unfasten.photo.budget import dof_of_doubt
from unfasten.photo.card import card_scale, find_card, near_card, picked_card
from unfasten.photo.edges import Grey
from unfasten.photo.markers import SeenMat, find_mat
from unfasten.photo.mat import CHECK_LINE
from unfasten.photo.measure import Pointing
from unfasten.photo.open import Photo
from unfasten.photo.plane import Points
from unfasten.photo.pose import Distance, Height
from unfasten.photo.ruler import length_scale
from unfasten.photo.scale import Object, Optics, Reference, Scaled, mat_scale, rectangle, scaled
from unfasten.photo.screen import NOTE, has_grid
from unfasten.photo.view import View
from unfasten.service.camera import grey_of
from unfasten.service.measureask import Ask, CardScale, LengthScale, MatScale, RectangleScale, length_of, with_u


def pointing_of(ask: Ask) -> Pointing:
    """How well a point of this ask is picked: stated, or the assumed care."""
    u = assumed("pointing.u") if ask.pointing is None else ask.pointing
    how = "assumed" if ask.pointing is None else "stated"
    return Pointing(u, dof_of_doubt(assumed("pointing.doubt")), "B", f"picks {how} good to {u:g} px per coordinate")


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
    grey = grey_of(photo)
    seen = find_mat(grey, photo.facts.name or "photo")
    found = scaled(mat_reference(seen, scale), optics, about)
    return replace(found, notes=(*screen_note(grey, found, seen), *found.notes))


def _card(photo: Photo, scale: CardScale, optics: Optics, pointing: Pointing) -> Reference:
    if scale.corners is None:
        return card_scale(find_card(grey_of(photo), optics, photo.facts.name or "photo"))
    corners = points_of(scale.corners)
    fitted = near_card(grey_of(photo), corners, optics.lens)
    return picked_card(corners, pointing.u, assumed("pointing.doubt")) if fitted is None else card_scale(fitted)


def mat_reference(seen: SeenMat, scale: MatScale) -> Reference:
    """The reference that a mat in the photo gives, with the readings of its check lines."""
    return mat_scale(seen.px, seen.mm, checks_of(scale), CHECK_LINE)


def screen_note(grey: Grey, found: Scaled, seen: SeenMat) -> list[str]:
    """A warning where the mat seems to be shown on a screen."""
    field = np.array(seen.mat.field.corners)
    flat = View(found.view.plane, found.view.lens)
    return [NOTE] if has_grid(grey, flat.to_px(field)) else []


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
