"""The rigid motion in the plane that lays one set of points on another: rotation and shift, no mirror, no scale.

The least-squares rotation has a closed form in the plane (Kabsch, Acta Crystallographica A32, 1976, 922, with the
determinant held at +1). `minimax` seeks the motion with the least greatest distance by Lawson's reweighting.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import atan2, cos, degrees, sin
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from numpy import ndarray

    Points = ndarray  # (n, 2) [mm]

#: rounds of reweighting; the greatest distance falls by less than a thousandth after far fewer
_ROUNDS: Final = 60


@dataclass(frozen=True)
class Motion:
    """A rotation by `angle` [rad] about the origin, then a shift (x, y) [mm]."""

    angle: float
    shift: tuple[float, float]

    @property
    def turned(self) -> float:
        """The angle in degrees, from -180 to 180."""
        return degrees(atan2(sin(self.angle), cos(self.angle)))

    def of(self, points: Points) -> Points:
        """Move points of shape (n, 2) [mm]."""
        from numpy import array

        c, s = cos(self.angle), sin(self.angle)
        moved: Points = points @ array([[c, s], [-s, c]]) + array(self.shift)
        return moved


def best_fit(points: Points, onto: Points, weights: Points | None = None) -> Motion:
    """The motion of `points` onto `onto`, both (n, 2) in the same order [mm], with the least weighted sum of squares.

    One point only shifts. `weights` (n,) are positive, or None for all alike.
    """
    from numpy import ones

    share = ones(len(points)) if weights is None else weights
    share = share / share.sum()
    middle, aim = share @ points, share @ onto
    a, b = points - middle, onto - aim
    dot = float((share * (a[:, 0] * b[:, 0] + a[:, 1] * b[:, 1])).sum())
    cross = float((share * (a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0])).sum())
    angle = atan2(cross, dot) if (dot, cross) != (0.0, 0.0) else 0.0
    x, y = Motion(angle, (0.0, 0.0)).of(middle[None, :])[0]
    return Motion(angle, (float(aim[0] - x), float(aim[1] - y)))


def distances(motion: Motion, points: Points, onto: Points) -> Points:
    """Distance of each moved point from its partner, shape (n,) [mm]."""
    from numpy import hypot

    gap = motion.of(points) - onto
    away: Points = hypot(gap[:, 0], gap[:, 1])
    return away


def minimax(points: Points, onto: Points) -> Motion:
    """The motion whose greatest distance is least, to about a thousandth of it; never worse than `best_fit`."""
    from numpy import ones

    weights = ones(len(points))
    best = best_fit(points, onto)
    least = float(distances(best, points, onto).max())
    for _ in range(_ROUNDS):
        motion = best_fit(points, onto, weights)
        gaps = distances(motion, points, onto)
        if float(gaps.max()) < least:
            best, least = motion, float(gaps.max())
        weights = weights * (gaps + 1e-12)
        weights = weights / weights.sum() + 1e-15
    return best
