"""Calibrating a lens from photos of a flat pattern of known points, with the covariance of what was found.

Method of Z. Zhang, "A flexible new technique for camera calibration", IEEE Trans. PAMI 22 (2000) 1330-1334, as the
vision library solves it; the covariance comes from the normal equations of all photos with the poses eliminated.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from unfasten.photo.facts import PhotoError
from unfasten.photo.lens import NUMBERS, Lens
from unfasten.photo.plane import Matrix, Points
from unfasten.photo.vision import vision

_LEAST: Final = 4
#: a focal length known worse than this part of itself is no calibration
_WEAK: Final = 0.01
_MOVED: Final = "take at least six photos of the whole mat from different sides, tilted by 20 to 40 degrees and turned"


@dataclass(frozen=True, slots=True)
class Calibration:
    """A calibrated lens: `rms` is the residual per coordinate [px], one for all and one for each photo."""

    lens: Lens
    rms: float
    each: tuple[float, ...]

    @property
    def u_focal(self) -> float:
        """Relative standard uncertainty of the focal length."""
        return 0.0 if self.lens.cov is None else math.sqrt(float(self.lens.cov[0, 0])) / self.lens.focal


def calibrate(views: Sequence[tuple[Points, Points]], width: int, height: int) -> Calibration:
    """Calibrate from views, each the points in the photo [px] and on the pattern [mm].

    Raises `PhotoError` for fewer than four photos, and where they do not tell the focal length to a percent.
    """
    if len(views) < _LEAST:
        message = f"{len(views)} photos are too few to calibrate a lens"
        raise PhotoError("photo.few-photos", "calibration", message, _MOVED)
    cv2 = vision()
    solid = [np.column_stack([mm, np.zeros(len(mm))]).astype(np.float32) for _, mm in views]
    seen = [px.astype(np.float32).reshape(-1, 1, 2) for px, _ in views]
    _, matrix, bend, turns, shifts = cv2.calibrateCamera(solid, seen, (width, height), None, None)
    normal, squares, each, count = np.zeros((9, 9)), 0.0, [], 0
    for (px, mm), turn, shift in zip(views, turns, shifts, strict=True):
        points = np.column_stack([mm, np.zeros(len(mm))])
        there, jacobian = cv2.projectPoints(points, turn, shift, matrix, bend)
        away = px - there.reshape(-1, 2)
        squares += float((away**2).sum())
        each.append(math.sqrt(float((away**2).mean())))
        count += 2 * len(px)
        normal += _without_pose(jacobian[:, 6:15], jacobian[:, :6])
    free = count - 9 - 6 * len(views)
    variance = squares / free
    fx, fy, cx, cy = matrix[0, 0], matrix[1, 1], matrix[0, 2], matrix[1, 2]
    numbers = tuple(float(number) for number in (fx, fy, cx, cy, *np.ravel(bend)[:5]))
    cov = np.asarray(np.linalg.inv(normal), float) * variance
    found = Calibration(Lens(width, height, numbers, cov), math.sqrt(variance), tuple(each))
    if not np.isfinite(cov).all() or found.u_focal > _WEAK:
        message = f"these photos tell the focal length only to {found.u_focal:.1%}"
        raise PhotoError("photo.weak-calibration", "calibration", message, _MOVED)
    return found


def _without_pose(inner: Matrix, pose: Matrix) -> Matrix:
    """Normal equations of the lens's nine numbers, with the six of one photo's pose eliminated."""
    cross = inner.T @ pose
    return np.asarray(inner.T @ inner - cross @ np.linalg.solve(pose.T @ pose, cross.T), float)


def said(lens: Lens) -> dict[str, tuple[float, float | None]]:
    """Each number of a lens with its standard uncertainty (None: not assessed)."""
    u = [None] * len(NUMBERS) if lens.cov is None else [math.sqrt(float(v)) for v in np.diag(lens.cov)]
    return {name: (number, doubt) for name, number, doubt in zip(NUMBERS, lens.numbers, u, strict=True)}
