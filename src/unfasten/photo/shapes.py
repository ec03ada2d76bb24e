"""Figures of points in the plane: distance, angle, area, circle."""

from __future__ import annotations

import math
from typing import Final

import numpy as np
from numpy.typing import NDArray

from unfasten.evidence.errors import DataError
from unfasten.photo.plane import Points

Values = NDArray[np.float64]
_ROUNDS: Final = 50
_SETTLED: Final = 1e-11


def distance(points: Points) -> Values:
    """Distance of two points, an array of one."""
    return np.array([float(np.linalg.norm(points[1] - points[0]))])


def angle(points: Points) -> Values:
    """Angle [deg]: of three points at the second; of four between the lines 1-2 and 3-4 (0 to 180)."""
    if len(points) == 3:
        a, b = points[0] - points[1], points[2] - points[1]
    else:
        a, b = points[1] - points[0], points[3] - points[2]
    cross, dot = float(a[0] * b[1] - a[1] * b[0]), float(a @ b)
    return np.array([math.degrees(math.atan2(abs(cross), dot))])


def area(points: Points) -> Values:
    """Area inside a closed outline (the last point joins the first), by the shoelace sum."""
    return np.array([abs(signed_area(points))])


def signed_area(points: Points) -> float:
    """Shoelace sum: positive where the outline turns from x towards y."""
    near = points - points.mean(0)
    x, y = near[:, 0], near[:, 1]
    return float(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1))) / 2


def perimeter(points: Points) -> Values:
    """Length of a closed outline, an array of one."""
    return np.array([float(np.linalg.norm(np.roll(points, -1, axis=0) - points, axis=1).sum())])


def centroid(points: Points) -> Values:
    """Centroid of the area inside a closed outline."""
    middle = points.mean(0)
    near = points - middle
    ahead = np.roll(near, -1, axis=0)
    cross = near[:, 0] * ahead[:, 1] - near[:, 1] * ahead[:, 0]
    return np.asarray(middle + ((near + ahead) * cross[:, None]).sum(0) / (3 * cross.sum()), float)


def circle(points: Points) -> Values:
    """Circle of least squared distance through n >= 3 points: centre x, centre y, diameter.

    The algebraic circle starts Gauss-Newton on the distances. Raises `DataError` where the points lie on a line.
    """
    middle = points.mean(0)
    near = points - middle
    size = float(np.abs(near).max())
    rows = np.column_stack([2 * near, np.ones(len(near))])
    least, most = np.linalg.eigvalsh(near.T @ near)
    if size == 0 or least < 1e-12 * most:
        message = "the points lie on a line, so no circle goes through them"
        raise DataError("photo.no-circle", "picks", message, "pick points all round the rim")
    a, b, c = np.linalg.solve(rows.T @ rows, rows.T @ (near**2).sum(1))
    at = np.array([a, b, math.sqrt(max(c + a * a + b * b, 0.0))])
    for _ in range(_ROUNDS):
        away = near - at[:2]
        r = np.linalg.norm(away, axis=1)
        jacobian = np.column_stack([away / r[:, None], np.ones(len(near))])
        step = np.linalg.solve(jacobian.T @ jacobian, jacobian.T @ (r - at[2]))
        at = at + step
        if float(np.abs(step).max()) < _SETTLED * size:
            break
    return np.array([at[0] + middle[0], at[1] + middle[1], 2 * at[2]])


def circle_moves(points: Points) -> NDArray[np.float64]:
    """How the circle's centre x, y and diameter follow from moving each point outwards (3 x n), to first order."""
    x, y, _ = circle(points)
    away = points - [x, y]
    rows = np.column_stack([away / np.linalg.norm(away, axis=1)[:, None], np.ones(len(points))])
    moves = np.linalg.solve(rows.T @ rows, rows.T)
    return np.asarray(moves * np.array([[1.0], [1.0], [2.0]]), float)
