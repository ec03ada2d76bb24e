"""A trial of the stated uncertainties: rendered photographs with known truth, one measurement on each.

Every case draws a lens and what its profile gets wrong, a camera with tilt, blur, noise and a tone curve, the
true sizes of the reference, a person who picks with a care of their own, and something to measure. What is stated as a
95 % interval must hold the truth in about 95 of 100 cases.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

from unfasten.photo.assumed import assumed
from unfasten.photo.budget import dof_of_doubt
from unfasten.photo.calibrate import calibrate
from unfasten.photo.card import card_mm, card_scale, find_card
from unfasten.photo.facts import PhotoError
from unfasten.photo.lens import Lens
from unfasten.photo.markers import find_mat
from unfasten.photo.mat import CHECK_LINE, mat_of
from unfasten.photo.measure import Pointing, measure
from unfasten.photo.outline import CIRCLE, outline_readings, rim_of
from unfasten.photo.plane import Matrix, Points
from unfasten.photo.pose import Height
from unfasten.photo.reading import Reading
from unfasten.photo.rendered import INK, PAPER, Camera, Picture, Sheet, camera_over, mat_sheet, photograph
from unfasten.photo.ruler import length_scale
from unfasten.photo.scale import Object, Optics, Scaled, mat_scale, rectangle, scaled
from unfasten.photo.shapes import circle

ScaleKind = Literal["mat", "card", "rectangle", "length"]
WIDTH: Final = 960
HEIGHT: Final = 720
_SCALE: Final = 4.0
_SHARES: Final[dict[ScaleKind, float]] = {"mat": 0.45, "card": 0.25, "rectangle": 0.15, "length": 0.15}
_CARE: Final = 0.5
_U_HEIGHT: Final = 0.15
_U_SIDE: Final = 0.1
_U_CHECK: Final = 0.1
_MOST_TILT: Final = 40.0


@dataclass(frozen=True, slots=True)
class Case:
    """One case: the scale used, what was measured, the truth and the reading."""

    scale: ScaleKind
    kind: str
    truth: float
    reading: Reading

    @property
    def holds(self) -> bool:
        """Tell whether the interval holds the truth."""
        return self.reading.holds(self.truth)

    @property
    def score(self) -> float:
        """Error in units of the stated standard uncertainty."""
        return (self.reading.value - self.truth) / self.reading.u


def run(count: int, seed: int, *, profile: bool = True) -> Iterator[Case]:
    """So many cases; a photo in which the reference is not found (too far, too steep) is taken again.

    Without `profile` no lens corrects the photos, and the budget has to carry that.
    """
    rng = np.random.default_rng(seed)
    done = 0
    while done < count:
        try:
            yield _case(rng, profile)
        except PhotoError:
            continue
        done += 1


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


@dataclass(slots=True)
class _Scene:
    """What is true in one case, and what is known of it."""

    rng: np.random.Generator
    camera: Camera
    optics: Optics
    sheet: Sheet
    care: float
    pointing: Pointing
    disc: tuple[tuple[float, float], float]
    stretch: NDArray[np.float64]

    def picked(self, mm: Points, height: float = 0.0) -> Points:
        """Where a person picks points of the sheet."""
        return self.camera.seen(mm, height) + self.rng.normal(0, self.care, mm.shape)

    def photo(self) -> Picture:
        """The photo."""
        blur, noise, tone = self.rng.uniform(0.7, 1.5), self.rng.uniform(1, 5), self.rng.uniform(0.85, 1.2)
        sheets = [self.sheet]
        return photograph(sheets, self.camera, self.rng, blur=blur, noise=noise, tone=tone, fine=1)

    def true(self, mm: Points) -> Points:
        """Points of the sheet as they really lie, the print being off."""
        return mm * self.stretch


def _case(rng: np.random.Generator, profile: bool) -> Case:
    scale: ScaleKind = rng.choice(list(_SHARES), p=list(_SHARES.values()))
    scene = _scene(rng, scale)
    if not profile:
        focal = scene.camera.lens.focal * float(rng.normal(1, assumed("lens.exif-focal")))
        scene.optics = Optics(WIDTH, HEIGHT, None, focal, assumed("lens.exif-focal"))
    picture = scene.photo()
    raised = rng.uniform(1, 8) if scale in ("mat", "rectangle") and rng.uniform() < 0.35 else None
    found = _scaled(scene, scale, picture, raised)
    by_light = scale in ("rectangle", "length") or (raised is None and rng.uniform() < 0.4)
    if by_light and raised is None:
        return _diameter(scene, scale, picture, found)
    return _picked(scene, scale, found, raised)


def _scene(rng: np.random.Generator, scale: ScaleKind) -> _Scene:
    focal = WIDTH * rng.uniform(0.8, 1.2)
    middle = (WIDTH / 2 + rng.uniform(-8, 8), HEIGHT / 2 + rng.uniform(-8, 8))
    bend = (rng.uniform(-0.15, 0.1), rng.uniform(-0.04, 0.04), rng.uniform(-5e-4, 5e-4), rng.uniform(-5e-4, 5e-4), 0.0)
    lens = Lens(WIDTH, HEIGHT, (focal, focal, *middle, *bend))
    cov = _doubt_of_profile()
    profile = Lens(WIDTH, HEIGHT, tuple(rng.multivariate_normal(np.array(lens.numbers), cov)), cov)
    nu = dof_of_doubt(assumed("pointing.doubt"))
    care = _CARE * math.sqrt(nu / rng.chisquare(nu))
    camera = _camera(rng, lens, scale)
    stretch = 1 + rng.uniform(-1, 1, 2) * assumed("print.half-width") if scale == "mat" else np.ones(2)
    disc = ((rng.uniform(60, 237), rng.uniform(40, 120)), rng.uniform(6, 25))
    sheet = _drawn(rng, scale, disc)
    pointing = Pointing(_CARE, nu)
    return _Scene(rng, camera, Optics(WIDTH, HEIGHT, profile), sheet, care, pointing, disc, stretch)


def _camera(rng: np.random.Generator, lens: Lens, scale: ScaleKind) -> Camera:
    if scale == "length":
        tilt = assumed("tilt.half-width") * math.sqrt(rng.uniform())
        return camera_over(
            lens, (148.5, 90.0), 300.0 * lens.focal / WIDTH, tilt, rng.uniform(0, 360), rng.uniform(-8, 8)
        )
    distance = 330.0 * lens.focal / WIDTH * rng.uniform(1.0, 1.15)
    return camera_over(
        lens, (148.5, 105.0), distance, rng.uniform(0, _MOST_TILT), rng.uniform(0, 360), rng.uniform(-8, 8)
    )


def _drawn(rng: np.random.Generator, scale: ScaleKind, disc: tuple[tuple[float, float], float]) -> Sheet:
    base = _printed()
    if scale == "mat":
        sheet = Sheet(base.light.copy(), _SCALE)
    else:
        sheet = Sheet(np.full_like(base.light, PAPER), _SCALE)
        if scale == "card":
            sheet.light[:] = float(rng.uniform(0.55, PAPER))
            sheet.polygon(_card(rng), float(rng.uniform(INK, 0.2)))
    sheet.disc(*disc, float(rng.uniform(INK, 0.3)))
    return sheet


def _card(rng: np.random.Generator) -> Points:
    """A card of its true size, off by what is assumed of cards, with round corners [mm]."""
    width, height = card_mm()[2] + rng.uniform(-1, 1, 2) * assumed("card.half-width")
    radius, out = assumed("card.corner"), []
    corners = ((width - radius, radius), (width - radius, height - radius), (radius, height - radius), (radius, radius))
    for number, corner in enumerate(corners):
        turn = np.radians(90.0 * (number - 1) + np.linspace(0, 90, 7))
        out.append(np.array(corner) + radius * np.column_stack([np.cos(turn), np.sin(turn)]))
    return np.asarray(np.vstack(out) + np.array([105.0, 135.0]), float)


def _scaled(scene: _Scene, scale: ScaleKind, picture: Picture, raised: float | None) -> Scaled:
    rng = scene.rng
    about = Object() if raised is None else Object(Height(raised + float(rng.normal(0, _U_HEIGHT)), _U_HEIGHT))
    doubt = assumed("pointing.doubt")
    if scale == "mat":
        seen = find_mat(picture)
        check = None
        if rng.uniform() < 0.5:
            check = [(CHECK_LINE * float(s) + float(rng.normal(0, _U_CHECK)), _U_CHECK) for s in scene.stretch]
        return scaled(mat_scale(seen.px, seen.mm, check, CHECK_LINE), scene.optics, about)
    if scale == "card":
        return scaled(card_scale(find_card(picture, scene.optics)), scene.optics, about)
    if scale == "rectangle":
        corners = np.array([[35.0, 30], [262, 30], [262, 150], [35, 150]])
        sides = [(size + float(rng.normal(0, _U_SIDE)), _U_SIDE) for size in (227.0, 120.0)]
        return scaled(rectangle(scene.picked(corners), sides[0], sides[1], _CARE, doubt), scene.optics, about)
    ends = np.array([[80.0, 140], [200, 140]])
    length = 120.0 + float(rng.normal(0, _U_SIDE)), _U_SIDE
    tilt = assumed("tilt.half-width")
    return length_scale(scene.picked(ends), length, _CARE, doubt, scene.optics, about, tilt)


def _diameter(scene: _Scene, scale: ScaleKind, picture: Picture, found: Scaled) -> Case:
    """The diameter of the disc, its rim drawn to the edge of light from rough picks."""
    (x, y), diameter = scene.disc
    turn = np.linspace(0, 2 * math.pi, 240, endpoint=False)
    rim = np.array([x, y]) + diameter / 2 * np.column_stack([np.cos(turn), np.sin(turn)])
    outline = rim_of(picture, found.view, scene.picked(rim[::40]))
    reading = outline_readings(found.view, outline, circle, CIRCLE)[-1]
    return Case(scale, "diameter", float(circle(scene.true(rim))[2]), reading)


def _picked(scene: _Scene, scale: ScaleKind, found: Scaled, raised: float | None) -> Case:
    """A distance, an angle or an area from picks, at its own height."""
    rng = scene.rng
    kind = str(rng.choice(["distance", "angle", "area"], p=[0.6, 0.2, 0.2]))
    count = {"distance": 2, "angle": 3, "area": 4}[kind]
    middle, size = np.array([rng.uniform(80, 217), rng.uniform(60, 115)]), rng.uniform(15, 45)
    turn = rng.uniform(0, 2 * math.pi) + np.array([0, math.pi, 4.2, 5.4][:count] if count < 4 else [0, 1.4, 3.0, 4.6])
    points = middle + size * np.column_stack([np.cos(turn), np.sin(turn)])
    height = 0.0 if raised is None else raised
    truth = measure_true(kind, scene.true(points))
    name = kind if raised is None else f"{kind}, raised"
    return Case(scale, name, truth, measure(found.view, kind, scene.picked(points, height), scene.pointing)[0])


def measure_true(kind: str, mm: Points) -> float:
    """The figure of exact points [mm], without a view."""
    from unfasten.photo.measure import KINDS

    what = KINDS[kind]
    index = next(i for i, quantity in enumerate(what.gives) if quantity.name == kind)
    return float(what.figure(mm)[index])
