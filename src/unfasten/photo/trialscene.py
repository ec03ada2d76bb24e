"""What the trial photographs: a sheet with a reference, a disc and a part, a camera over it, and a person who picks."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache
from typing import Final, Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from unfasten.photo.assumed import assumed
from unfasten.photo.budget import dof_of_doubt
from unfasten.photo.calibrate import calibrate
from unfasten.photo.card import card_mm
from unfasten.photo.lens import Lens
from unfasten.photo.mat import mat_of
from unfasten.photo.measure import Pointing
from unfasten.photo.plane import Matrix, Points
from unfasten.photo.rendered import INK, PAPER, Camera, Picture, Sheet, camera_over, mat_sheet, photograph
from unfasten.photo.scale import Optics
from unfasten.photo.vision import vision

ScaleKind = Literal["mat", "card", "rectangle", "length"]
WIDTH: Final = 960
HEIGHT: Final = 720
SHARES: Final[dict[ScaleKind, float]] = {"mat": 0.4, "card": 0.2, "rectangle": 0.2, "length": 0.2}
#: standard uncertainty of a pick that is stated [px]; how well each person really picks scatters round it
CARE: Final = 0.5
_SCALE: Final = 4.0
#: softness of print and of edges, sigma [px of the sheet]; it also keeps the photo from sampling edges too coarsely
_SOFT: Final = 0.8
_MOST_TILT: Final = 40.0


@dataclass(frozen=True, slots=True)
class Disc:
    """A disc or a hole on the sheet [mm]."""

    centre: NDArray[np.float64]
    diameter: float


@dataclass(frozen=True, slots=True)
class Part:
    """A rectangular part with a hole [mm]."""

    corners: Points
    hole: Disc


@dataclass(slots=True)
class Scene:
    """What is true in one photo, and what is known of it."""

    rng: np.random.Generator
    camera: Camera
    optics: Optics
    sheet: Sheet
    care: float
    pointing: Pointing
    disc: Disc
    part: Part
    stretch: NDArray[np.float64]

    @property
    def tilt(self) -> float:
        """Tilt of the camera's axis against the normal of the sheet [deg]."""
        return math.degrees(math.acos(min(1.0, abs(float(self.camera.rotation[2, 2])))))

    def picked(self, mm: Points, height: float = 0.0) -> Points:
        """Where a person picks points of the sheet."""
        return self.camera.seen(mm, height) + self.rng.normal(0, self.care, mm.shape)

    def photo(self) -> Picture:
        """The photo."""
        blur, noise, tone = self.rng.uniform(0.5, 1.4), self.rng.uniform(1, 5), self.rng.uniform(0.85, 1.2)
        return photograph([self.sheet], self.camera, self.rng, blur=blur, noise=noise, tone=tone, fine=1)

    def true(self, mm: Points) -> Points:
        """Points of the sheet as they really lie, the print being off."""
        return mm * self.stretch


def on_circle(centre: ArrayLike, radius: float, turns: NDArray[np.float64]) -> Points:
    """Points on a circle [mm] at parts of a turn."""
    angle = 2 * math.pi * turns
    return np.asarray(centre, float) + radius * np.column_stack([np.cos(angle), np.sin(angle)])


def scene_of(rng: np.random.Generator, scale: ScaleKind) -> Scene:
    """Draw a scene for one kind of scale."""
    focal = WIDTH * rng.uniform(0.8, 1.2)
    middle = (WIDTH / 2 + rng.uniform(-8, 8), HEIGHT / 2 + rng.uniform(-8, 8))
    bend = (rng.uniform(-0.15, 0.1), rng.uniform(-0.04, 0.04), rng.uniform(-5e-4, 5e-4), rng.uniform(-5e-4, 5e-4), 0.0)
    lens = Lens(WIDTH, HEIGHT, (focal, focal, *middle, *bend))
    cov = _doubt_of_profile()
    profile = Lens(WIDTH, HEIGHT, tuple(rng.multivariate_normal(np.array(lens.numbers), cov)), cov)
    nu = dof_of_doubt(assumed("pointing.doubt"))
    care = CARE * math.sqrt(nu / rng.chisquare(nu))
    stretch = 1 + rng.uniform(-1, 1, 2) * assumed("print.half-width") if scale == "mat" else np.ones(2)
    left = bool(rng.uniform() < 0.5)
    disc = Disc(np.array([rng.uniform(*_half(left)), rng.uniform(45, 105)]), rng.uniform(6, 25))
    part = _part(rng, left=not left)
    sheet = _drawn(rng, scale, disc, part)
    pointing, optics = Pointing(CARE, nu), Optics(WIDTH, HEIGHT, profile)
    return Scene(rng, _camera(rng, lens, scale), optics, sheet, care, pointing, disc, part, stretch)


def _half(left: bool) -> tuple[float, float]:
    return (65.0, 120.0) if left else (177.0, 232.0)


@cache
def _doubt_of_profile() -> Matrix:
    """Covariance of a lens calibrated from eight photos of the mat, corners good to 0.1 px."""
    rng = np.random.default_rng(1)
    lens = Lens(WIDTH, HEIGHT, (WIDTH, WIDTH, WIDTH / 2, HEIGHT / 2, -0.1, 0.03, 0.0, 0.0, 0.0))
    mm = np.array([corner for box in mat_of("A4").markers.values() for corner in box.corners])
    views = []
    for number in range(8):
        camera = camera_over(lens, (148.5, 105.0), 400.0, 28.0, 45.0 * number, 90.0 * number)
        views.append((camera.seen(mm) + rng.normal(0, 0.1, mm.shape), mm))
    cov = calibrate(views, WIDTH, HEIGHT).lens.cov
    return np.zeros((9, 9)) if cov is None else cov


@cache
def _printed() -> Sheet:
    return mat_sheet(mat_of("A4"), _SCALE)


def _part(rng: np.random.Generator, *, left: bool) -> Part:
    width, height = rng.uniform(18, 40), rng.uniform(12, 30)
    turn = rng.uniform(0, 2 * math.pi)
    spin = np.array([[math.cos(turn), math.sin(turn)], [-math.sin(turn), math.cos(turn)]])
    at = np.array([rng.uniform(*_half(left)), rng.uniform(58, 104)])
    corners = np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]]) * [width / 2, height / 2] @ spin + at
    hole = Disc(at + np.array([rng.uniform(-0.2, 0.2) * width, 0.0]) @ spin, rng.uniform(4, 7))
    return Part(np.asarray(corners, float), hole)


def _camera(rng: np.random.Generator, lens: Lens, scale: ScaleKind) -> Camera:
    if scale == "length":
        at, distance = (148.5, 90.0), 300.0 * lens.focal / WIDTH
        tilt = assumed("tilt.half-width") * math.sqrt(rng.uniform())
    else:
        at, distance = (148.5, 105.0), 330.0 * lens.focal / WIDTH * rng.uniform(1.0, 1.15)
        tilt = rng.uniform(0, _MOST_TILT)
    return camera_over(lens, at, distance, tilt, rng.uniform(0, 360), rng.uniform(-8, 8))


def _drawn(rng: np.random.Generator, scale: ScaleKind, disc: Disc, part: Part) -> Sheet:
    base = _printed()
    sheet = Sheet(base.light.copy() if scale == "mat" else np.full_like(base.light, PAPER), _SCALE)
    if scale == "card":
        sheet.light[:] = float(rng.uniform(0.55, PAPER))
        sheet.polygon(_card(rng), float(rng.uniform(INK, 0.2)))
    ground = float(sheet.light[round(60 * _SCALE), round(148 * _SCALE)])
    sheet.polygon(part.corners, float(rng.uniform(INK, 0.3)))
    sheet.disc((float(part.hole.centre[0]), float(part.hole.centre[1])), part.hole.diameter, ground)
    sheet.disc((float(disc.centre[0]), float(disc.centre[1])), disc.diameter, float(rng.uniform(INK, 0.3)))
    sheet.light = np.asarray(vision().GaussianBlur(sheet.light, (0, 0), _SOFT), np.float32)
    return sheet


def _card(rng: np.random.Generator) -> Points:
    """A card of its true size, off by what is assumed of cards, with round corners [mm], a little turned."""
    width, height = card_mm()[2] + rng.uniform(-1, 1, 2) * assumed("card.half-width")
    radius, out = assumed("card.corner"), []
    corners = ((width - radius, radius), (width - radius, height - radius), (radius, height - radius), (radius, radius))
    for number, corner in enumerate(corners):
        out.append(on_circle(corner, radius, (number - 1) / 4 + np.linspace(0, 0.25, 7)))
    turn = math.radians(rng.uniform(-3, 3))
    spin = np.array([[math.cos(turn), math.sin(turn)], [-math.sin(turn), math.cos(turn)]])
    return np.asarray((np.vstack(out) - [width / 2, height / 2]) @ spin + np.array([148.0, 164.0]), float)
