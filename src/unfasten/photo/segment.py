"""Telling parts from the plain field: what differs from the light of the paper, each piece with its holes."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from unfasten.photo.plane import Points
from unfasten.photo.vision import vision

Picture = NDArray[np.uint8]
Mask = NDArray[np.uint8]
#: a part differs from the paper by this share of its light in one colour at least; soft shadows stay below
CONTRAST: Final = 0.22
#: smallest part and smallest hole [mm^2]
LEAST_PART: Final = 1.5
LEAST_HOLE: Final = 0.4
_COARSE: Final = 220
_ROUNDS: Final = 6
_RING: Final = 0.06
_NECKS: Final = (0.25, 0.4, 0.55, 0.7)
_BULGE: Final = 1.35
_SECOND: Final = 0.3


@dataclass(frozen=True, slots=True)
class Piece:
    """A piece in a rectified view: its outline and the outlines of its holes [px], and what speaks against it."""

    outline: Points
    holes: tuple[Points, ...]
    leaves_field: bool
    may_touch: bool


def pieces(picture: Picture, scale: float) -> tuple[Piece, ...]:
    """Find every piece on a rectified plain field (height x width x 3) at `scale` px a mm, from top left in rows."""
    cv2 = vision()
    mask = foreground(picture, scale)
    outlines, family = cv2.findContours(mask, cv2.RETR_CCOMP, cv2.CHAIN_APPROX_NONE)[-2:]
    if family is None:
        return ()
    found = []
    for outline, (_, _, child, parent) in zip(outlines, family[0], strict=True):
        if parent >= 0 or cv2.contourArea(outline) < LEAST_PART * scale**2:
            continue
        holes = []
        while child >= 0:
            if cv2.contourArea(outlines[child]) >= LEAST_HOLE * scale**2:
                holes.append(_points(outlines[child]))
            child = family[0][child][0]
        found.append(_piece(cv2, mask, outline, tuple(holes)))
    rows = 10 * scale
    return tuple(
        sorted(found, key=lambda piece: (round(float(piece.outline[:, 1].min()) / rows), piece.outline[:, 0].min()))
    )


def foreground(picture: Picture, scale: float) -> Mask:
    """Where the field is covered (255) and where it is paper (0)."""
    cv2 = vision()
    smooth = cv2.GaussianBlur(picture, (0, 0), max(0.8, 0.06 * scale))
    paper = cv2.resize(paper_light(smooth), (picture.shape[1], picture.shape[0]), interpolation=cv2.INTER_LINEAR)
    share = cv2.absdiff(smooth, np.clip(np.rint(paper), 0, 255).astype(np.uint8)).astype(np.float32)
    share /= np.maximum(paper, 20.0)
    mask = (share.max(2) > _coded(CONTRAST)).astype(np.uint8) * 255
    kernel = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (3, 3))
    return np.asarray(cv2.morphologyEx(mask, cv2.MORPH_OPEN, kernel), np.uint8)


def _coded(share: float) -> float:
    """The share of the code that a share of the light takes, by the power 2.2 near white."""
    return float(1 - (1 - share) ** (1 / 2.2))


def paper_light(picture: Picture) -> NDArray[np.float32]:
    """The code that bare paper would have all over the field, small: a surface of second order in each colour.

    It starts from the rim of the field, where parts seldom lie, and takes in whatever agrees.
    """
    cv2 = vision()
    shrink = min(1.0, _COARSE / max(picture.shape[:2]))
    small = cv2.resize(picture, None, fx=shrink, fy=shrink, interpolation=cv2.INTER_AREA).astype(np.float64)
    height, width = small.shape[:2]
    x, y = np.meshgrid(np.linspace(-1, 1, width), np.linspace(-1, 1, height))
    terms = np.stack([np.ones_like(x), x, y, x * x, x * y, y * y], -1).reshape(-1, 6)
    colours = small.reshape(-1, 3)
    ring = (np.maximum(np.abs(x), np.abs(y)) > 1 - 2 * _RING).ravel()
    middle = np.median(colours[ring], axis=0)
    use = ring & (np.abs(colours - middle).max(1) < 40)
    for _ in range(_ROUNDS):
        if use.sum() < 20:
            use = np.ones(len(colours), bool)
        fit, *_ = np.linalg.lstsq(terms[use], colours[use], rcond=None)
        away = np.abs(colours - terms @ fit).max(1)
        spread = 1.4826 * float(np.median(away[use]))
        use = away < max(4.0, 4 * spread)
    return np.asarray((terms @ fit).reshape(height, width, 3), np.float32)


def _piece(cv2: Any, mask: Mask, outline: Any, holes: tuple[Points, ...]) -> Piece:
    x, y, w, h = cv2.boundingRect(outline)
    height, width = mask.shape
    leaves = x <= 1 or y <= 1 or x + w >= width - 1 or y + h >= height - 1
    own = np.zeros((h + 2, w + 2), np.uint8)
    cv2.drawContours(own, [outline - [x - 1, y - 1]], -1, 255, cv2.FILLED)
    return Piece(_points(outline), holes, leaves, _may_touch(cv2, own))


def _may_touch(cv2: Any, filled: Mask) -> bool:
    """Tell whether a piece has a neck between two wide places, as two parts have that touch."""
    depth = cv2.distanceTransform(filled, cv2.DIST_L2, 5)
    most = float(depth.max())
    for share in _NECKS:
        level = share * most
        count, labels = cv2.connectedComponents((depth > level).astype(np.uint8))
        wide = [float(depth[labels == number].max()) for number in range(1, count)]
        if sum(1 for radius in wide if radius >= max(_BULGE * level, _SECOND * most)) > 1:
            return True
    return False


def _points(contour: Any) -> Points:
    return np.asarray(contour, float).reshape(-1, 2)
