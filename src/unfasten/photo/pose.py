"""Where the camera stood over the plane of the scale, and so how much a height above it matters."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np

from unfasten.photo.lens import Lens
from unfasten.photo.plane import Plane
from unfasten.photo.view import Rise


@dataclass(frozen=True, slots=True)
class Pose:
    """The camera's centre: its foot on the plane and its height [mm]; tilt of its axis against the normal [deg]."""

    foot: tuple[float, float]
    height: float
    tilt: float


@dataclass(frozen=True, slots=True)
class Height:
    """Height of what is measured above the plane of the scale, with its standard uncertainty [mm]."""

    value: float = 0.0
    u: float = 0.0


#: in the plane of the scale
NO_HEIGHT: Final = Height()


@dataclass(frozen=True, slots=True)
class Distance:
    """Height of the camera above the plane of the scale as somebody measured it, with standard uncertainty [mm]."""

    value: float
    u: float


def camera_pose(plane: Plane, lens: Lens) -> Pose:
    """Camera pose from the homography of a plane and the camera matrix; `lens` must have the plane's pixels.

    With K^-1 H = (b1 b2 b3), the first two columns are rotated unit vectors times one factor, the third is the
    translation times the same factor.
    """
    b = np.linalg.solve(lens.matrix, np.linalg.inv(plane.px_mm))
    factor = 2 / (np.linalg.norm(b[:, 0]) + np.linalg.norm(b[:, 1]))
    if b[2, 2] < 0:
        factor = -factor
    r1, r2, t = b[:, 0] * factor, b[:, 1] * factor, b[:, 2] * factor
    r3 = np.cross(r1, r2)
    r3 = r3 / np.linalg.norm(r3)
    rotation = np.linalg.svd(np.column_stack([r1, r2, r3]))
    turn = rotation[0] @ rotation[2]
    centre = -turn.T @ t
    tilt = math.degrees(math.acos(min(1.0, abs(float(turn[2, 2])))))
    return Pose((float(centre[0]), float(centre[1])), abs(float(centre[2])), tilt)


def rise_over(height: Height, pose: Pose | None, u_focal: float, stated: Distance | None = None) -> Rise | None:
    """The height with the camera's distance; None where a height matters and no distance is known.

    `u_focal` is the relative standard uncertainty of the focal length; the distance inherits it. A stated distance
    is taken instead where the focal length is not known, and beside a pose only for its height.
    """
    if height.value == 0 and height.u == 0:
        return Rise()
    foot = (0.0, 0.0) if pose is None else pose.foot
    if stated is not None:
        return Rise(height.value, height.u, stated.value, stated.u, foot)
    if pose is None:
        return None
    return Rise(height.value, height.u, pose.height, pose.height * u_focal, foot)
