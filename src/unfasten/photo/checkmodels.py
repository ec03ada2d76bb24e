"""What the check values of measuring on photos are computed with: the same functions that measure."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

import numpy as np

from unfasten.evidence.checkvalue import Computed, Models
from unfasten.photo.budget import coverage_factor, effective_dof
from unfasten.photo.card import card_mm
from unfasten.photo.lens import focal_px, pinhole
from unfasten.photo.measure import Pointing, measure
from unfasten.photo.plane import fit_plane
from unfasten.photo.pose import camera_pose
from unfasten.photo.rendered import camera_over
from unfasten.photo.view import Rise, View, fit_source

MODELS = Models()


@MODELS.model("measuring.homography")
def homography(given: Mapping[str, Any]) -> Mapping[str, Computed]:
    """Places of points through four corners of a rectangle, and the distance of the second and third."""
    width, height = float(given["width"]), float(given["height"])
    corners = np.array([[0, 0], [width, 0], [width, height], [0, height]])
    plane = fit_plane(np.array(given["corners"], float), corners, sigma=0.5)
    found = plane.to_mm(np.array(given["points"], float))
    out = {
        f"{axis}{index}": float(value)
        for index, point in enumerate(found, 1)
        for axis, value in zip("xy", point, strict=True)
    }
    return {**out, "d23": float(np.linalg.norm(found[2] - found[1]))}


@MODELS.model("measuring.card-uncertainty")
def card_uncertainty(given: Mapping[str, Any]) -> Mapping[str, Computed]:
    """A length in the plane of a card seen by a camera of known place, every coordinate good to half a pixel."""
    middle = card_mm().mean(0)
    camera = camera_over(
        pinhole(4032, 3024, 3028.66), (float(middle[0]), float(middle[1])), 300.0, float(given["tilt"])
    )
    view = View(fit_plane(camera.seen(card_mm()), card_mm(), sigma=0.5))
    ends = np.array([given["from"], given["to"]], float) + middle
    (found,) = measure(view.with_sources(fit_source(view, "")), "distance", camera.seen(ends), Pointing(0.5))
    return {"length": found.value, "u": found.u}


@MODELS.model("measuring.focal")
def focal(given: Mapping[str, Any]) -> Mapping[str, Computed]:
    """Focal length in pixels of a focal length equivalent to 35 mm film."""
    return {"focal": focal_px(float(given["equivalent"]), int(given["width"]), int(given["height"]))}


@MODELS.model("measuring.height")
def height(given: Mapping[str, Any]) -> Mapping[str, Computed]:
    """How much too long a length reads that lies higher than the plane of the scale [%], measured on a view."""
    camera = camera_over(pinhole(4000, 3000, 3000.0), (50.0, 40.0), float(given["camera"]))
    frame = np.array([[0.0, 0], [100, 0], [100, 80], [0, 80]])
    plane = fit_plane(camera.seen(frame), frame, sigma=0.5)
    rise, ends = float(given["height"]), np.array([[20.0, 20], [80, 60]])
    seen = camera.seen(ends, rise)
    (raw,) = measure(View(plane), "distance", seen, Pointing(0.5))
    pose = camera_pose(plane, camera.lens)
    (mended,) = measure(
        View(plane, None, Rise(rise, 0.0, pose.height, 0.0, pose.foot)), "distance", seen, Pointing(0.5)
    )
    return {"percent": 100 * (raw.value / mended.value - 1)}


@MODELS.model("measuring.budget")
def budget(given: Mapping[str, Any]) -> Mapping[str, Computed]:
    """Combined uncertainty, truncated degrees of freedom, coverage factor and expanded uncertainty.

    The combined uncertainty is rounded to a whole number first, as the example does.
    """
    parts = [(float(part["u"]), float(part["dof"])) for part in given["components"]]
    u = math.sqrt(sum(value**2 for value, _ in parts))
    dof = math.floor(effective_dof(parts))
    k = coverage_factor(dof, float(given["p"]))
    return {"u": u, "dof": dof, "k": k, "U": k * round(u)}
