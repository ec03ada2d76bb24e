"""The plane of the scale: a homography between ideal image points [px] and plane points [mm], with its covariance.

The fit is the normalised direct linear transform, then Gauss-Newton on the image side, where the noise is. Covariance
after A. Criminisi, I. Reid and A. Zisserman, "A plane measuring device", Image and Vision Computing 17 (1999) 625-634;
all points share one homography, so the whole covariance is kept and nothing is treated as independent that is not.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from unfasten.evidence.errors import DataError

#: points as rows of x and y, in px or mm
Points = NDArray[np.float64]
Matrix = NDArray[np.float64]

_ROUNDS: Final = 30
_SETTLED: Final = 1e-11
_FLAT: Final = 1e-3


@dataclass(frozen=True, slots=True)
class Plane:
    """A fitted plane; `px_mm` maps ideal px to mm, `cov` belongs to eight numbers of the inverse map (see `moved`).

    `rms` is the residual per coordinate [px] and `dof` its degrees of freedom; `sigma` is the standard uncertainty per
    coordinate of the points used [px].
    """

    px_mm: Matrix
    cov: Matrix
    sigma: float
    rms: float
    dof: float
    source: Points
    target: Points
    weight: Matrix | None = None

    def to_mm(self, px: Points) -> Points:
        """Plane points [mm] of ideal image points [px]."""
        return project(self.px_mm, px)

    def to_px(self, mm: Points) -> Points:
        """Ideal image points [px] of plane points [mm]."""
        return project(np.asarray(np.linalg.inv(self.px_mm), float), mm)

    def moved(self, step: NDArray[np.float64]) -> Plane:
        """The plane with a step added to the eight numbers that `cov` belongs to."""
        tx, tm = _normaliser(self.source), _normaliser(self.target)
        g = tx @ np.linalg.inv(self.px_mm) @ np.linalg.inv(tm)
        g = g / g[2, 2]
        g = (g.ravel() + np.append(step, 0.0)).reshape(3, 3)
        return replace(self, px_mm=np.linalg.inv(np.linalg.inv(tx) @ g @ tm))

    def directions(self) -> Matrix:
        """Independent one-sigma steps, one a row, that together make up `cov`."""
        values, vectors = np.linalg.eigh(self.cov)
        return np.asarray((vectors * np.sqrt(np.clip(values, 0.0, None))).T, float)

    def refitted(self, source: Points, target: Points) -> Plane:
        """The plane through other positions of the same points, with the same weights."""
        return fit_plane(source, target, sigma=self.sigma, weight=self.weight)


def project(h: Matrix, points: Points) -> Points:
    """Map points by a 3 x 3 homography.

    >>> project(np.diag([2.0, 2.0, 1.0]), np.array([[1.0, 3.0]])).tolist()
    [[2.0, 6.0]]
    """
    mapped = points @ h[:, :2].T + h[:, 2]
    return np.asarray(mapped[:, :2] / mapped[:, 2:], float)


def fit_plane(
    px: Points, mm: Points, *, sigma: float | None = None, dof: float = math.inf, weight: Matrix | None = None
) -> Plane:
    """Fit the plane through n >= 4 ideal image points [px] and their plane points [mm].

    `sigma` is the standard uncertainty of each image coordinate [px]; None: taken from the residuals (2n - 8 degrees of
    freedom, n > 4). `weight` (2n x 2n) is the inverse covariance of the image points where they are not alike. Raises
    `DataError` where three of four points lie on a line.
    """
    _check(px, mm)
    tx, tm = _normaliser(px), _normaliser(mm)
    x, m = project(tx, px), project(tm, mm)
    g = _dlt(m, x)
    w = None if weight is None else weight / tx[0, 0] ** 2
    for _ in range(_ROUNDS):
        jacobian, residual = _linear(g, m, x)
        jw = jacobian.T if w is None else jacobian.T @ w
        step = np.linalg.solve(jw @ jacobian, jw @ residual)
        g = (g.ravel() + np.append(step, 0.0)).reshape(3, 3)
        if float(np.abs(step).max()) < _SETTLED:
            break
    jacobian, residual = _linear(g, m, x)
    jw = jacobian.T if w is None else jacobian.T @ w
    free = 2 * len(px) - 8
    rms = math.sqrt(float(residual @ residual) / max(free, 1)) / tx[0, 0]
    if weight is not None:
        used, nu, scale = 1.0, dof, 1.0
    elif sigma is None:
        if free < 1:
            raise ValueError("four points leave no residual: state sigma")
        used, nu, scale = rms, float(free), rms * tx[0, 0]
    else:
        used, nu, scale = sigma, dof, sigma * tx[0, 0]
    cov = np.linalg.inv(jw @ jacobian) * scale**2
    h = np.linalg.inv(np.linalg.inv(tx) @ g @ tm)
    return Plane(h / h[2, 2], cov, used, rms, nu, px, mm, weight)


def _check(px: Points, mm: Points) -> None:
    if len(px) < 4 or len(px) != len(mm):
        raise ValueError(f"{len(px)} image points for {len(mm)} plane points; a plane needs four or more pairs")
    if not (np.isfinite(px).all() and np.isfinite(mm).all()):
        raise ValueError("a point is not finite")
    if min(_spread(px), _spread(mm)) < _FLAT or (len(px) == 4 and _smallest_corner(px) < _FLAT):
        message = "three of the points lie on a line, so they hold no plane"
        raise DataError("photo.points-in-line", "scale", message, "pick the corners of the rectangle in turn")


def _spread(points: Points) -> float:
    sizes = np.linalg.svd(points - points.mean(0), compute_uv=False)
    return float(sizes[1] / sizes[0]) if sizes[0] > 0 else 0.0


def _smallest_corner(points: Points) -> float:
    """Least sine of the angles of any three of the four points."""
    sines = []
    for skip in range(4):
        a, b, c = np.delete(points, skip, axis=0)
        u, v = b - a, c - a
        norm = float(np.linalg.norm(u) * np.linalg.norm(v))
        sines.append(abs(float(u[0] * v[1] - u[1] * v[0])) / norm if norm else 0.0)
    return min(sines)


def _normaliser(points: Points) -> Matrix:
    """Shift to the centroid and scale to mean distance sqrt(2)."""
    centre = points.mean(0)
    scale = math.sqrt(2) / float(np.linalg.norm(points - centre, axis=1).mean())
    return np.array([[scale, 0, -scale * centre[0]], [0, scale, -scale * centre[1]], [0, 0, 1.0]])


def _dlt(m: Points, x: Points) -> Matrix:
    one, zero = np.ones(len(m)), np.zeros((len(m), 3))
    rows = np.column_stack([m, one])
    top = np.hstack([rows, zero, -x[:, :1] * rows])
    low = np.hstack([zero, rows, -x[:, 1:] * rows])
    both = np.vstack([top, low])
    h = np.linalg.svd(both, full_matrices=len(both) < 9)[2][-1].reshape(3, 3)
    return np.asarray(h / h[2, 2], float)


def _linear(g: Matrix, m: Points, x: Points) -> tuple[Matrix, NDArray[np.float64]]:
    """Jacobian (2n x 8, rows x and y in turn) and residual (2n) of the map at `g`."""
    rows = np.column_stack([m, np.ones(len(m))])
    mapped = rows @ g.T
    w = mapped[:, 2:]
    at = mapped[:, :2] / w
    jacobian = np.zeros((2 * len(m), 8))
    jacobian[0::2, 0:3] = rows / w
    jacobian[1::2, 3:6] = rows / w
    jacobian[0::2, 6:8] = -at[:, :1] * m / w
    jacobian[1::2, 6:8] = -at[:, 1:] * m / w
    return jacobian, (x - at).ravel()
