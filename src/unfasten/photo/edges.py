"""Edges found to a fraction of a pixel: where light along a normal crosses half way between its two sides.

Light is taken back from the coded values by the curve of IEC 61966-2-1 (sRGB), for a blurred edge is symmetric in light
and not in code; a camera with another tone curve shifts edges by a little, which budgets carry as edge definition.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from typing import Final

import numpy as np
from numpy.typing import NDArray

from unfasten.photo.assumed import assumed
from unfasten.photo.plane import Matrix, Points

Grey = NDArray[np.uint8]
_STEP: Final = 0.25
_TRIM: Final = 0.12
#: an edge needs this much of the light's range between its sides
_CONTRAST: Final = 0.05
_OUTLIER: Final = 3.5
#: no edge in a photo is sharper: sigma of a pixel's own width [px]
_SHARPEST: Final = 0.29


@dataclass(frozen=True, slots=True)
class Line:
    """A straight edge: a point on it and its unit direction; `cov` of offset [px] and angle [rad]; n points used."""

    point: NDArray[np.float64]
    along: NDArray[np.float64]
    cov: Matrix
    scatter: float
    n: int


@cache
def light() -> NDArray[np.float64]:
    """Light of each coded value 0..255, 0 to 1 (IEC 61966-2-1)."""
    c = np.arange(256) / 255
    return np.where(c <= 0.04045, c / 12.92, ((c + 0.055) / 1.055) ** 2.4)


def sample(grey: Grey, points: Points) -> NDArray[np.float64]:
    """Light at points (n x 2) [px], bilinear; not a number outside the photo."""
    height, width = grey.shape
    x, y = points[:, 0], points[:, 1]
    inside = (x >= 0) & (y >= 0) & (x <= width - 1) & (y <= height - 1)
    left = np.clip(np.floor(np.where(inside, x, 0)), 0, width - 2).astype(int)
    top = np.clip(np.floor(np.where(inside, y, 0)), 0, height - 2).astype(int)
    fx, fy = x - left, y - top
    lut = light()
    upper = lut[grey[top, left]] * (1 - fx) + lut[grey[top, left + 1]] * fx
    lower = lut[grey[top + 1, left]] * (1 - fx) + lut[grey[top + 1, left + 1]] * fx
    return np.where(inside, upper * (1 - fy) + lower * fy, np.nan)


def crossings(grey: Grey, points: Points, normals: Points, reach: NDArray[np.float64] | float) -> NDArray[np.float64]:
    """Offset along each normal [px] at which light crosses half way from its far inner to its far outer end.

    `reach` is how far to either side is looked at [px]. Not a number where there is no clear single edge.
    """
    reach = np.broadcast_to(np.asarray(reach, float), (len(points),))
    steps = max(9, 2 * int(np.ceil(float(reach.max(initial=1.0)) / _STEP)) + 1)
    at = np.linspace(-1, 1, steps)
    spots = points[:, None, :] + normals[:, None, :] * (reach[:, None] * at)[:, :, None]
    profile = sample(grey, spots.reshape(-1, 2)).reshape(len(points), steps)
    return _halfway(profile, at) * reach


def blur_of(grey: Grey, points: Points, normals: Points, reach: float) -> float:
    """Blur of the edges along an outline, sigma of a Gaussian [px]: half the way from 16 to 84 percent of the light.

    The median of all normals; 0 where no edge is clear.
    """
    at = np.linspace(-1, 1, 2 * int(np.ceil(reach / _STEP)) + 1)
    spots = points[:, None, :] + normals[:, None, :] * (reach * at)[None, :, None]
    profile = sample(grey, spots.reshape(-1, 2)).reshape(len(points), len(at))
    ends = max(2, len(at) // 8)
    low, high = profile[:, :ends].mean(1), profile[:, -ends:].mean(1)
    with np.errstate(invalid="ignore", divide="ignore"):
        rel = (profile - low[:, None]) / (high - low)[:, None]
    part = ((rel > 0.1587) & (rel < 0.8413)).sum(1) * (reach * (at[1] - at[0])) / 2
    clear = np.isfinite(rel).all(1) & (np.abs(high - low) > _CONTRAST)
    return float(np.median(part[clear])) if clear.any() else 0.0


def edge_shift(blur: float) -> float:
    """Most that an edge of this blur (sigma [px]) is drawn off its place [px], all round alike.

    Where light is half way depends on the camera's tone curve, and a soft edge moves the farther the softer it is.
    """
    return assumed("edge.of-blur") * max(blur, _SHARPEST)


def _halfway(profile: Matrix, at: NDArray[np.float64]) -> NDArray[np.float64]:
    """Place on -1..1 of the crossing nearest to the middle, for every profile."""
    ends = max(2, profile.shape[1] // 8)
    low, high = profile[:, :ends].mean(1), profile[:, -ends:].mean(1)
    rel = (profile - ((low + high) / 2)[:, None]) * np.sign(high - low)[:, None]
    cross = (rel[:, :-1] < 0) & (rel[:, 1:] >= 0)
    far = np.where(cross, np.abs((at[:-1] + at[1:]) / 2), np.inf)
    first = far.argmin(1)
    rows = np.arange(len(profile))
    a, b = rel[rows, first], rel[rows, first + 1]
    with np.errstate(invalid="ignore", divide="ignore"):
        found = at[first] + (at[1] - at[0]) * a / (a - b)
    good = np.isfinite(far.min(1)) & (np.abs(high - low) > _CONTRAST)
    return np.where(good, found, np.nan)


def side_points(
    grey: Grey,
    starts: Points,
    ends: Points,
    reach: NDArray[np.float64],
    count: int,
    bend: Callable[[Points], Points] | None = None,
) -> list[Points]:
    """Edge points near each straight side (start to end), found on `count` normals away from its ends.

    `bend` puts points of the straight sides where the lens shows them in the photo: a light level is read at both ends
    of a normal, so that normals which stand off a bowed edge would find it to one side.
    """
    t = np.linspace(_TRIM, 1 - _TRIM, count)
    along = ends - starts
    spots = (starts[:, None, :] + along[:, None, :] * t[None, :, None]).reshape(-1, 2)
    ways = np.repeat(along, count, axis=0)
    if bend is not None:
        spots, ways = bend(spots), bend(spots + 0.001 * ways) - bend(spots - 0.001 * ways)
    normals = np.column_stack([ways[:, 1], -ways[:, 0]])
    across = normals / np.linalg.norm(normals, axis=1)[:, None]
    offsets = crossings(grey, spots, across, np.repeat(reach, count))
    found = (spots + across * offsets[:, None]).reshape(len(starts), count, 2)
    return [side[np.isfinite(side).all(1)] for side in found]


def fit_line(points: Points) -> Line | None:
    """The line of least squared distance through edge points, outliers left out; None for fewer than four points."""
    kept = points
    for _ in range(4):
        if len(kept) < 4:
            return None
        middle = kept.mean(0)
        along = _main_axis(kept - middle)
        away = (kept - middle) @ np.array([along[1], -along[0]])
        robust = 1.4826 * float(np.median(np.abs(away)))
        good = np.abs(away) <= _OUTLIER * max(robust, 0.02)
        if good.all():
            break
        kept = kept[good]
    n = len(kept)
    t = (kept - middle) @ along
    scatter = float(np.sqrt(away @ away / (n - 2)))
    spread = max(float(t @ t), 1e-9)
    return Line(middle, along, np.diag([scatter**2 / n, scatter**2 / spread]), scatter, n)


def _main_axis(points: Points) -> NDArray[np.float64]:
    """Unit direction of greatest spread of centred points."""
    xx, xy, yy = (
        float(v) for v in (points[:, 0] @ points[:, 0], points[:, 0] @ points[:, 1], points[:, 1] @ points[:, 1])
    )
    turn = 0.5 * math.atan2(2 * xy, xx - yy)
    return np.array([math.cos(turn), math.sin(turn)])


def meet(a: Line, b: Line) -> tuple[NDArray[np.float64], Matrix] | None:
    """Where two lines meet, and the covariance of the point [px^2]; None for lines that are nearly parallel."""
    na, nb = np.array([a.along[1], -a.along[0]]), np.array([b.along[1], -b.along[0]])
    det = float(na[0] * nb[1] - na[1] * nb[0])
    if abs(det) < 0.05:
        return None
    back = np.array([[nb[1], -na[1]], [-nb[0], na[0]]]) / det
    at = back @ np.array([na @ a.point, nb @ b.point])
    shifts = np.array([_across(a, at), _across(b, at)])
    return at, (back * shifts) @ back.T


def _across(line: Line, at: NDArray[np.float64]) -> float:
    """Variance of the line across itself at a point [px^2]."""
    t = float((at - line.point) @ line.along)
    return float(line.cov[0, 0] + t * t * line.cov[1, 1])
