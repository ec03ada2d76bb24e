"""The lens: a pinhole with radial and tangential distortion (k1, k2, p1, p2, k3), and what is unknown about it.

Model of D. C. Brown, "Close-range camera calibration", Photogrammetric Engineering 37 (1971) 855-866, in the form that
vision libraries use. Ideal points are where a lens without distortion would have put them, in the same pixels.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Final

import numpy as np
from numpy.typing import NDArray

from unfasten.photo.plane import Matrix, Points

#: diagonal of the 36 mm x 24 mm frame [mm]; focal lengths "equivalent to 35 mm film" go by the diagonal (CIPA DCG-001)
FRAME_DIAGONAL: Final = math.hypot(36.0, 24.0)
#: order of the numbers of a lens, and of the rows of its covariance
NUMBERS: Final = ("fx", "fy", "cx", "cy", "k1", "k2", "p1", "p2", "k3")
_ROUNDS: Final = 12
_SETTLED: Final = 1e-8
_LOST: Final = 1e-6
#: points that are worth remembering
_FEW: Final = 2000
Values = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Lens:
    """A lens for photos of `width` x `height` px; `numbers` in the order of NUMBERS, `cov` None: not assessed."""

    width: int
    height: int
    numbers: tuple[float, ...]
    cov: Matrix | None = None

    @property
    def focal(self) -> float:
        """Mean focal length [px]."""
        return (self.numbers[0] + self.numbers[1]) / 2

    @property
    def matrix(self) -> Matrix:
        """Camera matrix, 3 x 3 [px]."""
        fx, fy, cx, cy = self.numbers[:4]
        return np.array([[fx, 0, cx], [0, fy, cy], [0, 0, 1.0]])

    def seen(self, ideal: Points) -> Points:
        """Where the lens puts ideal image points [px]."""
        fx, fy, cx, cy = self.numbers[:4]
        x, y = (ideal[:, 0] - cx) / fx, (ideal[:, 1] - cy) / fy
        dx, dy = self._distorted(x, y)
        return np.column_stack([dx * fx + cx, dy * fy + cy])

    def ideal(self, seen: Points) -> Points:
        """Ideal image points [px] of points in the photo, by Newton rounds; not a number where the model does not hold.

        Far outside the points it was calibrated with, a lens model may fold back, and no ideal point belongs there. A
        measurement asks for the same few points with every source of its uncertainty; they are worked out once.
        """
        if len(seen) > _FEW:
            return self._ideal(seen)
        return _remembered(self.numbers, np.ascontiguousarray(seen, float).tobytes()).copy()

    def _ideal(self, seen: Points) -> Points:
        fx, fy, cx, cy = self.numbers[:4]
        wanted = np.column_stack([(seen[:, 0] - cx) / fx, (seen[:, 1] - cy) / fy])
        x, y = wanted[:, 0].copy(), wanted[:, 1].copy()
        with np.errstate(all="ignore"):
            for _ in range(_ROUNDS):
                dx, dy = self._distorted(x, y)
                ex, ey = wanted[:, 0] - dx, wanted[:, 1] - dy
                xx, xy, yy = self._slopes(x, y)
                det = xx * yy - xy * xy
                x, y = x + (yy * ex - xy * ey) / det, y + (xx * ey - xy * ex) / det
                if max(float(np.abs(ex).max(initial=0)), float(np.abs(ey).max(initial=0))) < _SETTLED:
                    break
            dx, dy = self._distorted(x, y)
            lost = ~(np.hypot(wanted[:, 0] - dx, wanted[:, 1] - dy) < _LOST)
        return np.column_stack([np.where(lost, np.nan, x * fx + cx), np.where(lost, np.nan, y * fy + cy)])

    def _slopes(self, x: Values, y: Values) -> tuple[Values, Values, Values]:
        """Derivatives of the distorted coordinates: x by x, x by y (the same as y by x), y by y."""
        k1, k2, p1, p2, k3 = self.numbers[4:]
        r = x * x + y * y
        radial = 1 + r * (k1 + r * (k2 + r * k3))
        slope = 2 * (k1 + r * (2 * k2 + r * 3 * k3))
        across = x * y * slope + 2 * p1 * x + 2 * p2 * y
        return (
            radial + x * x * slope + 2 * p1 * y + 6 * p2 * x,
            across,
            radial + y * y * slope + 6 * p1 * y + 2 * p2 * x,
        )

    def _distorted(self, x: Values, y: Values) -> tuple[Values, Values]:
        k1, k2, p1, p2, k3 = self.numbers[4:]
        r = x * x + y * y
        radial = 1 + r * (k1 + r * (k2 + r * k3))
        dx = x * radial + 2 * p1 * x * y + p2 * (r + 2 * x * x)
        dy = y * radial + p1 * (r + 2 * y * y) + 2 * p2 * x * y
        return dx, dy

    def moved(self, step: NDArray[np.float64]) -> Lens:
        """The lens with a step added to its numbers."""
        return replace(self, numbers=tuple(float(n) for n in np.add(self.numbers, step)))

    def directions(self) -> Matrix:
        """Independent one-sigma steps of the numbers, one a row; none where the covariance is not assessed."""
        if self.cov is None:
            return np.zeros((0, len(NUMBERS)))
        values, vectors = np.linalg.eigh(self.cov)
        steps = (vectors * np.sqrt(np.clip(values, 0.0, None))).T
        return np.asarray(steps[np.abs(steps).max(axis=1) > 0], float)

    def turned(self, quarters: int) -> Lens:
        """The lens for the same photo turned by so many quarters, the way a clock turns."""
        lens = self
        for _ in range(quarters % 4):
            swap = np.zeros((9, 9))
            for row, (sign, name) in enumerate(_QUARTER):
                swap[row, NUMBERS.index(name)] = sign
            numbers = swap @ np.array(lens.numbers)
            numbers[2] += lens.height - 1
            cov = None if lens.cov is None else np.asarray(swap @ lens.cov @ swap.T, float)
            lens = Lens(lens.height, lens.width, tuple(float(number) for number in numbers), cov)
        return lens

    def fits(self, width: int, height: int) -> bool:
        """Tell whether a photo of this size has the proportions of those that the lens is for."""
        return abs(width * self.height / (height * self.width) - 1) <= 2 / min(width, height)

    def resized(self, width: int, height: int) -> Lens:
        """The lens for the same photo at another size; `ValueError` if the proportions differ."""
        sx, sy = width / self.width, height / self.height
        if not self.fits(width, height):
            raise ValueError(f"{width} x {height} px is no other size of {self.width} x {self.height} px")
        fx, fy, cx, cy = self.numbers[:4]
        head = (fx * sx, fy * sy, (cx + 0.5) * sx - 0.5, (cy + 0.5) * sy - 0.5)
        scale = np.array([sx, sy, sx, sy, 1, 1, 1, 1, 1])
        cov = None if self.cov is None else self.cov * np.outer(scale, scale)
        return Lens(width, height, head + self.numbers[4:], cov)


@lru_cache(maxsize=32)
def _remembered(numbers: tuple[float, ...], seen: bytes) -> Points:
    return Lens(0, 0, numbers)._ideal(np.frombuffer(seen).reshape(-1, 2))


#: a quarter turn the way a clock turns: each number of the turned lens as (sign, number of the lens before)
_QUARTER: Final = (
    (1, "fy"),
    (1, "fx"),
    (-1, "cy"),
    (1, "cx"),
    (1, "k1"),
    (1, "k2"),
    (1, "p2"),
    (-1, "p1"),
    (1, "k3"),
)


def pinhole(width: int, height: int, focal: float) -> Lens:
    """A lens without distortion, its axis through the middle; `focal` [px]."""
    return Lens(width, height, (focal, focal, (width - 1) / 2, (height - 1) / 2, 0.0, 0.0, 0.0, 0.0, 0.0))


def focal_px(equivalent: float, width: int, height: int) -> float:
    """Focal length [px] of a focal length equivalent to 35 mm film [mm], by the diagonal (CIPA DCG-001).

    >>> round(focal_px(26, 4032, 3024), 1)
    3028.7
    """
    return equivalent * math.hypot(width, height) / FRAME_DIAGONAL
