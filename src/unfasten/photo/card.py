"""An ID-1 card as the scale: found by its outline, its edges fitted away from the round corners.

The corners used are those at which the straight edges would meet; their covariance follows from the four fitted lines.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, Final

import numpy as np

from unfasten.photo.assumed import assumed
from unfasten.photo.budget import dof_of_doubt, rectangular
from unfasten.photo.edges import Grey, Line, blur_of, edge_shift, fit_line, meet, side_points
from unfasten.photo.facts import PhotoError
from unfasten.photo.lens import Lens, focal_px, pinhole
from unfasten.photo.plane import Matrix, Points, fit_plane
from unfasten.photo.pose import Height
from unfasten.photo.scale import Optics, Reference, stretched
from unfasten.photo.vision import vision

_SEARCH: Final = 1000
_NORMALS: Final = 60
#: how far proportions may be off: with a known focal length, and with the usual one assumed (A4 is 11 % off)
_ALIKE: Final = 0.04
_ROUGHLY_ALIKE: Final = 0.09
#: what outlines may be off more before their edges are fitted
_ROUGH_PROPORTIONS: Final = 0.15
_SHORTEST: Final = 12.0
_LEAST_AREA: Final = 0.004
_LEAST_FOUND: Final = 0.6
#: how far edges are looked for at first, relative to the shorter side: round rough corners, and round picked ones
_ROUGH: Final = 0.05
_PICKED: Final = 0.03
_ROUNDS: Final = 6
_SETTLED: Final = 0.03
_BLUR_REACH: Final = 3.5


@dataclass(frozen=True, slots=True)
class SeenCard:
    """A card in a photo: corners where its edges meet, from the top left the way a clock turns, first side long [px].

    `cov` (8 x 8) is their covariance; `scatter` the worst residual of an edge [px]; `share` of the edge that was found;
    `blur` the sigma of its edges [px].
    """

    corners: Points
    cov: Matrix
    scatter: float
    share: float
    blur: float


def find_card(grey: Grey, optics: Optics, where: str = "photo") -> SeenCard:
    """Find the card; raises `PhotoError` where none is found, or two unlike ones are equally clear."""
    rough: list[Points] = []
    for quad in _quads(grey):
        if _has_proportions(quad, optics, _ROUGH_PROPORTIONS) and not any(_same(quad, other) for other in rough):
            rough.append(quad)
    found = [card for quad in rough if (card := fit_card(grey, quad, _ROUGH, optics.lens)) is not None]
    found = [card for card in found if card.share >= _LEAST_FOUND and _has_proportions(card.corners, optics)]
    if not found:
        message = "no card can be found"
        raise PhotoError(
            "photo.no-card", where, message, "pick the four corners at which its straight edges would meet"
        )
    best = max(found, key=lambda card: _area(card.corners))
    if any(_apart(card.corners, best.corners) and _area(card.corners) > _area(best.corners) / 2 for card in found):
        message = "more than one thing in view has the proportions of a card"
        raise PhotoError("photo.several-cards", where, message, "pick the four corners of the card")
    return best


def card_scale(card: SeenCard) -> Reference:
    """The reference that a fitted card gives; its plane lies a card's thickness over the bench."""
    width, height = assumed("card.width"), assumed("card.height")
    per_px = width / float(np.linalg.norm(card.corners[1] - card.corners[0]))
    used, edges = rectangular(assumed("card.half-width")), 2 * per_px * rectangular(edge_shift(card.blur))
    says = f"four edges fitted, worst scatter {card.scatter:.2f} px"
    size = f"card {width:g} x {height:g} mm, standard uncertainty {float(np.hypot(used, edges)):.2f} mm with its edges"
    above = Height(assumed("card.thickness"), rectangular(assumed("card.thickness-half-width")))
    mm = card_mm()
    steps = (*stretched(mm, used / width, used / height), *stretched(mm, edges / width, edges / height))
    weight = np.asarray(np.linalg.inv(card.cov), float)
    return Reference("card", card.corners, mm, steps, says, size, None, 50.0, weight, above, even=True)


def picked_card(corners: Points, u: float, doubt: float) -> Reference:
    """The reference that picked corners give where no edge can be fitted; `u` per coordinate [px]."""
    corners = long_side_first(corners)
    width, height = assumed("card.width"), assumed("card.height")
    half = rectangular(assumed("card.half-width"))
    above = Height(assumed("card.thickness"), rectangular(assumed("card.thickness-half-width")))
    mm = card_mm()
    says = f"four corners picked to {u:g} px each; no edge could be fitted there"
    size = f"card {width:g} x {height:g} mm, standard uncertainty {half:.2f} mm"
    steps = stretched(mm, half / width, half / height)
    return Reference("card", corners, mm, steps, says, size, u, dof_of_doubt(doubt), None, above, True, True)


def card_mm() -> Points:
    """Corners of the card's straight edges [mm], from the top left the way a clock turns."""
    width, height = assumed("card.width"), assumed("card.height")
    return np.array([[0, 0], [width, 0], [width, height], [0, height]], float)


def near_card(grey: Grey, corners: Points, lens: Lens | None = None) -> SeenCard | None:
    """The card whose edges lie near picked corners; None where they cannot be fitted."""
    card = fit_card(grey, long_side_first(corners), _PICKED, lens)
    return card if card is not None and card.share >= _LEAST_FOUND else None


def fit_card(grey: Grey, rough: Points, reach: float, lens: Lens | None = None) -> SeenCard | None:
    """Fit the four edges near rough corners; `reach` is how far to look, relative to the shorter side.

    Edges are straight only to an ideal lens: lines are fitted to ideal points where the lens is known.
    """
    lines: list[Line | None] = []
    corners: Points | None = None
    points: list[Points] = []
    share = 0.0
    for part in (reach, reach, *[reach / 4] * _ROUNDS):
        ends = np.roll(rough, -1, axis=0)
        sides = np.linalg.norm(ends - rough, axis=1)
        wide = np.full(4, max(2.5, part * sides.min()))
        if lens is None:
            points = side_points(grey, rough, ends, wide, _NORMALS)
        else:
            flat = lens.ideal(rough)
            if not np.isfinite(flat).all():
                return None
            points = side_points(grey, flat, np.roll(flat, -1, axis=0), wide, _NORMALS, lens.seen)
        lines = [fit_line(side if lens is None else lens.ideal(side)) for side in points]
        corners = _corners(lines)
        if corners is None:
            return None
        share = min(line.n for line in lines if line) / _NORMALS
        moved = corners if lens is None else lens.seen(corners)
        step, rough = float(np.abs(moved - rough).max()), moved
        if step < _SETTLED and part < reach:
            break
    if corners is None:
        return None
    whole = [line for line in lines if line is not None]
    across = [
        np.tile(_normal(start, end), (len(side), 1))
        for start, end, side in zip(rough, np.roll(rough, -1, axis=0), points, strict=True)
    ]
    blur = blur_of(grey, np.vstack(points), np.vstack(across), _BLUR_REACH)
    return SeenCard(rough, _covariance(whole, corners), max(line.scatter for line in whole), share, blur)


def _normal(start: Points, end: Points) -> Points:
    along = (end - start) / np.linalg.norm(end - start)
    return np.array([along[1], -along[0]])


def _corners(lines: list[Line | None]) -> Points | None:
    at = []
    for before, after in zip([lines[3], *lines[:3]], lines, strict=True):
        found = None if before is None or after is None else meet(before, after)
        if found is None:
            return None
        at.append(found[0])
    return np.array(at)


def _covariance(lines: list[Line], corners: Points) -> Matrix:
    """Covariance of the corners: each moves with the offsets and angles of the two lines that meet in it."""
    jacobian = np.zeros((8, 8))
    for index, corner in enumerate(corners):
        pair = (index - 1) % 4, index
        normals = np.array([[lines[i].along[1], -lines[i].along[0]] for i in pair])
        back = np.linalg.inv(normals)
        for column, i in enumerate(pair):
            along = float((corner - lines[i].point) @ lines[i].along)
            jacobian[2 * index : 2 * index + 2, 2 * i] = back[:, column]
            jacobian[2 * index : 2 * index + 2, 2 * i + 1] = back[:, column] * along
    own = np.diag(np.concatenate([np.diag(line.cov) for line in lines]))
    return np.asarray(jacobian @ own @ jacobian.T, float)


def _quads(grey: Grey) -> Iterator[Points]:
    """Four-cornered outlines of the right proportions [px], from several views of the photo at a small size."""
    cv2 = vision()
    scale = min(1.0, _SEARCH / max(grey.shape))
    small = cv2.resize(grey, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA) if scale < 1 else grey
    small = cv2.GaussianBlur(small, (0, 0), 1.5)
    for mask in _masks(cv2, small):
        outlines = cv2.findContours(mask, cv2.RETR_LIST, cv2.CHAIN_APPROX_SIMPLE)[-2]
        for outline in outlines:
            if cv2.contourArea(outline) < _LEAST_AREA * small.size:
                continue
            hull = cv2.convexHull(outline)
            if cv2.contourArea(outline) < 0.9 * cv2.contourArea(hull):
                continue
            corners = _four(cv2, hull)
            if corners is not None:
                yield long_side_first((corners + 0.5) / scale - 0.5)


def _masks(cv2: Any, small: Grey) -> Iterator[Any]:
    _, dark = cv2.threshold(small, 0, 255, cv2.THRESH_BINARY | cv2.THRESH_OTSU)
    yield dark
    yield 255 - dark
    kernel = np.ones((3, 3), np.uint8)
    for low in (20, 40, 80):
        lines = cv2.morphologyEx(cv2.Canny(small, low, 2.5 * low), cv2.MORPH_CLOSE, kernel, iterations=2)
        yield lines


def _four(cv2: Any, hull: Any) -> Points | None:
    """The four corners at which the long straight sides of a hull with round corners would meet, roughly."""
    length = cv2.arcLength(hull, True)
    for part in (0.02, 0.03, 0.05, 0.08):
        corners = cv2.approxPolyDP(hull, part * length, True).reshape(-1, 2)
        if len(corners) == 4:
            return np.asarray(corners, float)
    return None


def long_side_first(corners: Points) -> Points:
    """Corners the way a clock turns on the screen, the longer pair of sides first."""
    x, y = corners[:, 0], corners[:, 1]
    if float(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1))) < 0:
        corners = corners[::-1]
    sides = np.linalg.norm(np.roll(corners, -1, axis=0) - corners, axis=1)
    return np.roll(corners, -1, axis=0) if sides[1] + sides[3] > sides[0] + sides[2] else corners


def _same(a: Points, b: Points) -> bool:
    """Tell whether two rough outlines are of one thing."""
    near = _ROUGH / 2 * float(np.linalg.norm(b[2] - b[1]))
    return bool(np.abs(a - b).max() < near) or bool(np.abs(np.roll(a, 2, axis=0) - b).max() < near)


def _has_proportions(corners: Points, optics: Optics, more: float = 0.0) -> bool:
    """Tell whether a rectangle in space has the card's proportions, as far as the focal length is known."""
    sides = np.linalg.norm(np.roll(corners, -1, axis=0) - corners, axis=1)
    if sides.min() < _SHORTEST or _area(corners) < _LEAST_AREA * optics.width * optics.height:
        return False
    width, height = assumed("card.width"), assumed("card.height")
    usual = focal_px(assumed("lens.usual-focal"), optics.width, optics.height)
    lens = optics.pinhole or pinhole(optics.width, optics.height, usual)
    ideal = corners if optics.lens is None else optics.lens.ideal(corners)
    if not np.isfinite(ideal).all() or _flat(ideal):
        return False
    square = np.array([[0, 0], [1, 0], [1, 1], [0, 1]], float)
    columns = np.linalg.solve(lens.matrix, np.linalg.inv(fit_plane(ideal, square, sigma=1.0).px_mm))
    seen = float(np.linalg.norm(columns[:, 0]) / np.linalg.norm(columns[:, 1]))
    return abs(seen / (width / height) - 1) <= more + (_ALIKE if optics.pinhole else _ROUGHLY_ALIKE)


def _flat(corners: Points) -> bool:
    """Tell whether three of four corners nearly lie on a line."""
    sides = np.roll(corners, -1, axis=0) - corners
    after = np.roll(sides, -1, axis=0)
    cross = np.abs(sides[:, 0] * after[:, 1] - sides[:, 1] * after[:, 0])
    return bool((cross < 0.05 * np.linalg.norm(sides, axis=1) * np.linalg.norm(after, axis=1)).any())


def _area(corners: Points) -> float:
    x, y = corners[:, 0], corners[:, 1]
    return abs(float(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1)))) / 2


def _apart(a: Points, b: Points) -> bool:
    """Tell whether two outlines have different middles: not an inner and an outer outline of one thing."""
    return bool(np.linalg.norm(a.mean(0) - b.mean(0)) > 0.1 * np.linalg.norm(b[1] - b[0]))
