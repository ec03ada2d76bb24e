"""Finding the mat in a photo: its markers, their corners from fitted edges, and a clear word where that fails."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final

import numpy as np

from unfasten.photo.edges import Grey, Line, fit_line, meet, side_points
from unfasten.photo.facts import PhotoError
from unfasten.photo.mat import DICTIONARY, MODULES, Mat, mat_of_marker
from unfasten.photo.plane import Points
from unfasten.photo.vision import vision

#: markers are searched in a picture of about so many pixels; their corners are always found at full size
_SEARCHED: Final = 3_000_000
_LEAST: Final = 3
#: with fewer markers a mirrored photo is thought of: a few patterns read as others from behind
_SURE: Final = 8
_NORMALS: Final = 15
_ROUNDS: Final = 3
_LAY_FLAT: Final = "lay the whole mat flat in view, without glare or parts on its markers, and take the photo again"


@dataclass(frozen=True, slots=True)
class SeenMat:
    """A mat in a photo: corners of its markers in the photo [px] and on the paper [mm], four rows a marker."""

    mat: Mat
    px: Points
    mm: Points
    ids: tuple[int, ...]


def find_mat(grey: Grey, where: str = "photo") -> SeenMat:
    """Find the mat in a photo (height x width, 8 bit); raises `PhotoError` where there is none or more than one."""
    found = [(name, corners) for name, corners in detect(grey) if mat_of_marker(name)]
    if len(found) < _SURE:
        _check_mirrored(grey, where, len(found))
    if not found:
        raise _nothing(grey, where)
    mats = {mat.size: mat for name, _ in found if (mat := mat_of_marker(name))}
    twice = [name for name, count in Counter(name for name, _ in found).items() if count > 1]
    if len(mats) > 1 or twice:
        message = "two mats are in view" if len(mats) < 2 else f"mats of size {' and '.join(sorted(mats))} are in view"
        raise PhotoError("photo.two-mats", where, message, "leave one mat in view, or cut the photo to one")
    (mat,) = mats.values()
    refined = refine(grey, [rough for _, rough in found])
    sharp = [(name, corners) for (name, _), corners in zip(found, refined, strict=True) if corners is not None]
    sharp = _in_place(mat, sharp)
    if len(sharp) < _LEAST:
        message = f"only {len(sharp)} of the mat's {len(mat.markers)} markers can be read whole"
        raise PhotoError("photo.few-markers", where, message, _LAY_FLAT)
    px = np.vstack([corners for _, corners in sharp])
    mm = np.vstack([np.array(mat.markers[name].corners) for name, _ in sharp])
    return SeenMat(mat, px, mm, tuple(name for name, _ in sharp))


def detect(grey: Grey) -> list[tuple[int, Points]]:
    """Every marker with its rough corners [px], as the library finds them."""
    cv2 = vision()
    height, width = grey.shape
    times = max(1, round((grey.size / _SEARCHED) ** 0.5))
    small = cv2.resize(grey, (width // times, height // times), interpolation=cv2.INTER_AREA) if times > 1 else grey
    corners, ids, _ = _detector(cv2).detectMarkers(small)
    if ids is None:
        return []
    found = [np.asarray(four, float).reshape(4, 2) for four in corners]
    grown = np.array([width / small.shape[1], height / small.shape[0]])
    found = [(four + 0.5) * grown - 0.5 for four in found]
    return [(int(name), four) for name, four in zip(np.ravel(ids), found, strict=True)]


def _detector(cv2: Any) -> Any:
    parameters = cv2.aruco.DetectorParameters()
    parameters.adaptiveThreshWinSizeMin, parameters.adaptiveThreshWinSizeMax = 5, 41
    parameters.adaptiveThreshWinSizeStep = 18
    parameters.minMarkerPerimeterRate = 0.015
    parameters.errorCorrectionRate = 0.0
    return cv2.aruco.ArucoDetector(dictionary(cv2), parameters)


def dictionary(cv2: Any) -> Any:
    """The dictionary of the mat's markers."""
    return cv2.aruco.getPredefinedDictionary(getattr(cv2.aruco, DICTIONARY))


def bits_of(marker: int) -> tuple[str, ...]:
    """Rows of a marker's modules with its border, `1` white and `0` black."""
    cv2 = vision()
    drawn = cv2.aruco.generateImageMarker(dictionary(cv2), marker, MODULES)
    return tuple("".join("1" if cell else "0" for cell in row) for row in drawn)


def refine(grey: Grey, rough: Sequence[Points]) -> list[Points | None]:
    """Corners of markers where the lines through their four edges meet [px]; None where an edge is not clear."""
    corners: list[Points | None] = [*rough]
    for _ in range(_ROUNDS):
        left = [four for four in corners if four is not None]
        starts = np.vstack(left) if left else np.zeros((0, 2))
        ends = np.vstack([np.roll(four, -1, axis=0) for four in left]) if left else starts
        shortest = [np.linalg.norm(np.roll(four, -1, axis=0) - four, axis=1).min() for four in left]
        reach = np.repeat(np.clip(0.45 * np.array(shortest) / MODULES, 1.5, 8.0), 4)
        lines = [fit_line(points) for points in side_points(grey, starts, ends, reach, _NORMALS)]
        found = iter([_corners(lines[4 * index : 4 * index + 4]) for index in range(len(left))])
        corners = [None if four is None else next(found) for four in corners]
    return corners


def _corners(sides: Sequence[Line | None]) -> Points | None:
    corners = []
    for before, after in zip([sides[3], *sides[:3]], sides, strict=True):
        if before is None or after is None or min(before.n, after.n) < _NORMALS // 2:
            return None
        at = meet(before, after)
        if at is None:
            return None
        corners.append(at[0])
    return np.array(corners)


def _in_place(mat: Mat, found: list[tuple[int, Points]]) -> list[tuple[int, Points]]:
    """The markers that lie where the mat has them, within half a marker; a pattern taken for a marker drops out."""
    if len(found) < _LEAST:
        return found
    px = np.vstack([corners for _, corners in found])
    mm = np.vstack([np.array(mat.markers[name].corners) for name, _ in found])
    size = float(np.median([np.linalg.norm(corners[1] - corners[0]) for _, corners in found]))
    _, inside = vision().findHomography(mm, px, vision().RANSAC, max(2.0, size / 2))
    if inside is None:
        return []
    whole = inside.reshape(-1, 4).all(1)
    return [marker for marker, good in zip(found, whole, strict=True) if good]


def _check_mirrored(grey: Grey, where: str, plain: int) -> None:
    turned = sum(1 for name, _ in detect(np.ascontiguousarray(grey[:, ::-1])) if mat_of_marker(name))
    if turned > plain:
        message = "the photo is mirrored: its markers can be read only from behind"
        remedy = "switch off mirroring in the camera, or mirror the photo back"
        raise PhotoError("photo.mirrored", where, message, remedy)


def _nothing(grey: Grey, where: str) -> PhotoError:
    """Say why no marker was found: cut by the edge of the photo, or none there."""
    if _cut_marker(vision(), grey):
        message = "a marker is cut off by the edge of the photo, and none can be read whole"
        return PhotoError("photo.cut-marker", where, message, "step back until the mat's border is in view")
    message = "no marker of the bench mat can be read"
    remedy = f"{_LAY_FLAT}, or use another scale: card, length or rectangle"
    return PhotoError("photo.no-marker", where, message, remedy)


def _cut_marker(cv2: Any, grey: Grey) -> bool:
    """Tell whether a dark patch of two straight sides or more, with light spots inside, runs out of the photo."""
    scale = min(1.0, 1200 / max(grey.shape))
    small = cv2.resize(grey, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA) if scale < 1 else grey
    height, width = small.shape
    _, dark = cv2.threshold(small, 0, 255, cv2.THRESH_BINARY_INV | cv2.THRESH_OTSU)
    outlines, family = cv2.findContours(dark, cv2.RETR_CCOMP, cv2.CHAIN_APPROX_NONE)[-2:]
    for outline, (_, _, child, parent) in zip(outlines, [] if family is None else family[0], strict=False):
        x, y, w, h = cv2.boundingRect(outline)
        touches = x <= 1 or y <= 1 or x + w >= width - 1 or y + h >= height - 1
        if parent < 0 and child >= 0 and touches and 12 <= max(w, h) <= 0.5 * max(width, height):
            around = cv2.contourArea(cv2.convexHull(outline))
            if around > 80 and cv2.contourArea(outline) / around > 0.85:
                return True
    return False
