"""A trial of the stated uncertainties: rendered photographs with known truth, every kind of measurement on each.

Every photo draws a lens and what its profile gets wrong, a camera with tilt, blur, noise and a tone curve, the true
sizes of the reference, a person who picks with a care of their own, and things to measure. What is stated as a 95 %
interval must hold the truth in about 95 of 100 cases.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final, cast

import numpy as np

from unfasten.photo.assumed import assumed
from unfasten.photo.card import card_scale, find_card
from unfasten.photo.combine import combine
from unfasten.photo.facts import PhotoError
from unfasten.photo.holes import measure_holes
from unfasten.photo.identify.boardview import board_on
from unfasten.photo.markers import find_mat
from unfasten.photo.mat import CHECK_LINE, mat_of
from unfasten.photo.measure import KINDS, measure
from unfasten.photo.outline import CIRCLE, SIZES, outline_readings, rim_of, sizes, spaced, trace
from unfasten.photo.parts import find_parts
from unfasten.photo.plane import Points
from unfasten.photo.pose import Height
from unfasten.photo.reading import Reading
from unfasten.photo.rendered import Picture
from unfasten.photo.ruler import length_scale
from unfasten.photo.scale import Object, Optics, Scaled, mat_scale, rectangle, scaled
from unfasten.photo.shapes import circle
from unfasten.photo.trialscene import CARE, HEIGHT, SHARES, WIDTH, ScaleKind, Scene, on_circle, scene_of
from unfasten.photo.view import View
from unfasten.photo.vision import vision

_U_HEIGHT: Final = 0.15
_U_SIDE: Final = 0.1
_U_CHECK: Final = 0.1
#: places of picks on a circle, as parts of a turn
_QUAD: Final = (0.0, 0.22, 0.48, 0.73)
_TWELVE: Final = tuple((number + 0.3 * (number % 3)) / 12.5 for number in range(12))
_EIGHT: Final = tuple(number / 8 for number in range(8))
_BOARD: Final = np.array([[0.0, 0], [60, 0], [60, 30], [0, 30]])
_BODIES: Final = {
    "logic": np.array([[5.0, 5], [19, 5], [19, 19], [5, 19]]),
    "memory": np.array([[25.0, 5], [35, 5], [35, 19.5], [25, 19.5]]),
}


@dataclass(frozen=True, slots=True)
class Case:
    """One measurement: number of the photo, scale used, what was measured, the truth, the reading; tilt [deg]."""

    photo: int
    scale: ScaleKind
    kind: str
    truth: float
    reading: Reading
    tilt: float
    raised: bool = False

    @property
    def holds(self) -> bool:
        """Tell whether the interval holds the truth."""
        return self.reading.holds(self.truth)

    @property
    def score(self) -> float:
        """Error in units of the stated standard uncertainty."""
        return (self.reading.value - self.truth) / self.reading.u


#: what was measured, the truth, the reading
_Found = Iterator[tuple[str, float, Reading]]


def share(cases: Sequence[Case]) -> tuple[float, float]:
    """How many of the intervals hold the truth, and the standard error of that; cases of one photo are not independent.

    Each photo counts as one cluster: a scale that is off moves all that is measured with it.
    """
    held = np.array([case.holds for case in cases], float)
    _, photo = np.unique([case.photo for case in cases], return_inverse=True)
    part = float(held.mean())
    apart = np.bincount(photo, held - part)
    return part, float(np.sqrt(apart @ apart)) / len(cases)


def run(photos: int, seed: int, *, profile: bool = True) -> Iterator[Case]:
    """All measurements on so many photos; one in which the reference is not found (too far, too steep) is taken again.

    Without `profile` no lens corrects the photos, and the budget has to carry that.
    """
    rng = np.random.default_rng(seed)
    done = 0
    while done < photos:
        scale = cast(ScaleKind, str(rng.choice(list(SHARES), p=list(SHARES.values()))))
        try:
            found = list(_photo(done, scale, rng, profile))
        except PhotoError:
            continue
        yield from found
        done += 1


def _photo(number: int, scale: ScaleKind, rng: np.random.Generator, profile: bool) -> Iterator[Case]:
    scene = scene_of(rng, scale)
    if not profile:
        focal = scene.camera.lens.focal * float(rng.normal(1, assumed("lens.exif-focal")))
        scene.optics = Optics(WIDTH, HEIGHT, None, focal, assumed("lens.exif-focal"))
    picture = scene.photo()
    raised = float(rng.uniform(1, 8)) if scale in ("mat", "rectangle") and rng.uniform() < 0.35 else 0.0
    found = _scaled(scene, scale, picture, raised)
    tilt = scene.tilt
    for kind, truth, reading in _picked(scene, found.view, raised):
        yield Case(number, scale, kind, truth, reading, tilt, raised > 0)
    if not raised:
        for kind, truth, reading in _by_light(scene, found.view, picture, scale):
            yield Case(number, scale, kind, truth, reading, tilt)


def _scaled(scene: Scene, scale: ScaleKind, picture: Picture, raised: float) -> Scaled:
    rng = scene.rng
    about = Object(Height(raised + float(rng.normal(0, _U_HEIGHT)), _U_HEIGHT)) if raised else Object()
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
        return scaled(rectangle(scene.picked(corners), sides[0], sides[1], CARE, doubt), scene.optics, about)
    ends = np.array([[80.0, 140], [200, 140]])
    length = 120.0 + float(rng.normal(0, _U_SIDE)), _U_SIDE
    tilt = assumed("tilt.half-width")
    return length_scale(scene.picked(ends), length, CARE, doubt, scene.optics, about, tilt)


def _picked(scene: Scene, view: View, raised: float) -> _Found:
    """Everything that is measured from picks, at its own height."""
    rng = scene.rng

    def one(kind: str, places: Sequence[float]) -> tuple[float, Reading]:
        points = on_circle(_spot(rng), rng.uniform(15, 45), np.array(places) + rng.uniform())
        return measure_true(kind, scene.true(points)), measure(
            view, kind, scene.picked(points, raised), scene.pointing
        )[0]

    yield "distance", *one("distance", (0, 0.5))
    yield "angle", *one("angle", (0, 0.5, 0.67))
    yield "area, 4 picks", *one("area", _QUAD)
    yield "area, 12 picks", *one("area", _TWELVE)
    yield "diameter, 8 picks", *one("diameter", _EIGHT)
    ends = on_circle(_spot(rng), rng.uniform(15, 45), np.array([0, 0.5]) + rng.uniform())
    thrice = [measure(view, "distance", scene.picked(ends, raised), scene.pointing)[0] for _ in range(3)]
    yield "distance, read 3 times", measure_true("distance", scene.true(ends)), combine(thrice)
    yield from _holes(scene, view, raised)
    yield "board use", *_board(scene, view, raised)


def _spot(rng: np.random.Generator) -> Points:
    return np.array([rng.uniform(80, 217), rng.uniform(60, 115)])


def _holes(scene: Scene, view: View, raised: float) -> _Found:
    """A pattern of three holes: four picks on the rim of the first, the middles of the others."""
    rng = scene.rng
    first, *others = on_circle(_spot(rng), rng.uniform(15, 40), np.array([0.0, 0.3, 0.6]) + rng.uniform())
    rims = [on_circle(first, 3.0, np.array([0.1, 0.35, 0.6, 0.85])), *(other[None] for other in others)]
    found = {one.name: one for one in measure_holes(view, [scene.picked(rim, raised) for rim in rims], scene.pointing)}
    true = circle(scene.true(on_circle(first, 3.0, np.linspace(0, 1, 60, endpoint=False))))
    yield "holes: distance", measure_true("distance", scene.true(np.array([first, others[0]]))), found["holes 1 to 2"]
    yield "holes: diameter", float(true[2]), found["hole 1 diameter"]


def _board(scene: Scene, view: View, raised: float) -> tuple[float, Reading]:
    """Share of a board that its bodies take [%]; a stretched print stretches all of it alike."""
    turn = scene.rng.uniform(0, 2 * math.pi)
    spin = np.array([[math.cos(turn), math.sin(turn)], [-math.sin(turn), math.cos(turn)]])
    at = _spot(scene.rng)

    def picked(outline: Points) -> Points:
        return scene.picked((outline - [30, 15]) @ spin + at, raised)

    found = board_on(view, picked(_BOARD), {name: picked(body) for name, body in _BODIES.items()}, scene.pointing)
    return 100 * (14 * 14 + 10 * 14.5) / (60 * 30), found.readings[2]


def _by_light(scene: Scene, view: View, picture: Picture, scale: ScaleKind) -> _Found:
    """A disc and a part with a hole, drawn to the edge of light; on the mat the part as the table has it."""
    disc, part = scene.disc, scene.part
    turns = np.linspace(0, 1, 240, endpoint=False)
    rim = on_circle(disc.centre, disc.diameter / 2, turns)
    outline = rim_of(picture, view, scene.picked(rim[::40]))
    truth = float(circle(scene.true(rim))[2])
    yield "diameter, by light", truth, outline_readings(view, outline, circle, CIRCLE)[-1]
    true = dict(zip((one.name for one in SIZES), sizes(spaced(scene.true(part.corners), 0.5, 480)), strict=True))
    if scale != "mat":
        found = outline_readings(view, trace(picture, scene.picked(part.corners)), sizes, SIZES)
        yield "area, by light", true["area"], found[2]
        return
    table = find_parts(vision().merge([picture] * 3), picture, view, mat_of("A4").field)
    middle = scene.true(part.corners).mean(0)
    piece = min(table, key=lambda one: float(np.linalg.norm(view.to_mm(one.outline.points).mean(0) - middle)))
    for one in piece.readings[:3]:
        yield f"parts table: {one.name}", float(true[one.name]), one
    hole = on_circle(part.hole.centre, part.hole.diameter / 2, turns)
    yield "parts table: hole", float(circle(scene.true(hole))[2]), piece.holes[0].readings[-1]


def measure_true(kind: str, mm: Points) -> float:
    """The figure of exact points [mm], without a view."""
    what = KINDS[kind]
    index = next(i for i, quantity in enumerate(what.gives) if quantity.name == kind)
    return float(what.figure(mm)[index])
