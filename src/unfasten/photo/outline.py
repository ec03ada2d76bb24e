"""Outlines to a fraction of a pixel, and what follows from them: size, area, middle, round holes."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from unfasten.photo.budget import Budget, Component, rectangular
from unfasten.photo.convolve import evenly
from unfasten.photo.edges import Grey, blur_of, crossings, edge_shift
from unfasten.photo.measure import Quantity
from unfasten.photo.plane import Points
from unfasten.photo.reading import Reading
from unfasten.photo.shapes import Values, area, centroid, circle, circle_moves, perimeter, signed_area
from unfasten.photo.view import View
from unfasten.photo.vision import vision

_SPACING: Final = 2.0
_MOST: Final = 480
_REACH: Final = 3.5
#: an edge is clear when this share of it was found
LEAST_FOUND: Final = 0.5
#: points that make a side of the smallest rectangle: how deep they may lie, in distances of neighbours, and how many
_DEPTH: Final = 0.25
_LEAST_SIDE: Final = 6
SIZES: Final = (
    Quantity("length", "mm"),
    Quantity("width", "mm"),
    Quantity("area", "mm²"),
    Quantity("perimeter", "mm"),
    Quantity("centroid x", "mm"),
    Quantity("centroid y", "mm"),
)
CIRCLE: Final = (Quantity("centre x", "mm"), Quantity("centre y", "mm"), Quantity("diameter", "mm"))


@dataclass(frozen=True, slots=True)
class Outline:
    """A closed outline in the photo [px] with unit normals out of the material, and its scatter along them [px].

    `found` is the share of it that has a clear edge; `blur` the sigma of that edge [px].
    """

    points: Points
    normals: Points
    scatter: float
    found: float
    blur: float


def trace(grey: Grey, rough: Points) -> Outline:
    """Draw a rough closed outline [px] to the edge of light; points without a clear edge keep their rough place."""
    points = spaced(rough, _SPACING, _MOST)
    share = 0.0
    for reach in (_REACH, _REACH):
        points, normals = _smoothed(points)
        offsets = crossings(grey, points, normals, reach)
        clear = np.isfinite(offsets)
        share = float(clear.mean())
        points = points + normals * np.where(clear, offsets, 0.0)[:, None]
    normals = _normals(points)
    # three neighbours on a smooth outline: the middle one lies half way, so their second difference is sqrt(1.5) sigma
    bow = ((np.roll(points, 1, axis=0) + np.roll(points, -1, axis=0)) / 2 - points) * normals
    across = bow.sum(1)
    scatter = 1.4826 * float(np.median(np.abs(across - np.median(across)))) / math.sqrt(1.5)
    return Outline(points, normals, max(scatter, 0.02), share, blur_of(grey, points, normals, _REACH))


def rim_of(grey: Grey, view: View, picks: Points) -> Outline:
    """The rim of a disc or hole near three or more picks on it [px], drawn to the edge of light all round."""
    x, y, diameter = circle(view.to_mm(picks))
    turn = np.linspace(0, 2 * math.pi, 360, endpoint=False)
    rough = view.to_px(np.array([x, y]) + diameter / 2 * np.column_stack([np.cos(turn), np.sin(turn)]))
    return unbent(trace(grey, rough))


def spaced(closed: Points, spacing: float, most: int) -> Points:
    """Points at even distances along a closed outline, the first at its first point."""
    ring = np.vstack([closed, closed[:1]])
    way = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(ring, axis=0), axis=1))])
    count = int(np.clip(round(way[-1] / spacing), 12, most))
    at = np.linspace(0, way[-1], count, endpoint=False)
    return np.column_stack([np.interp(at, way, ring[:, 0]), np.interp(at, way, ring[:, 1])])


def _smoothed(points: Points) -> tuple[Points, Points]:
    """Points with the steps of the pixel outline taken out, and their normals.

    Smoothing pulls a bent outline inwards, by less than the reach of the search that then finds the edge again.
    """
    mean = np.asarray((np.roll(points, 1, axis=0) + points + np.roll(points, -1, axis=0)) / 3, float)
    return mean, _normals(mean)


def _normals(points: Points) -> Points:
    """Unit normals that point to the right of the way round: out of a piece whose outline turns from x to y."""
    along = np.roll(points, -1, axis=0) - np.roll(points, 1, axis=0)
    turn = math.copysign(1.0, signed_area(points))
    normals = np.column_stack([along[:, 1], -along[:, 0]]) * turn
    return np.asarray(normals / np.maximum(np.linalg.norm(normals, axis=1), 1e-9)[:, None], float)


def sizes(points: Points) -> Values:
    """Length and width of the smallest rectangle round the outline, area, perimeter, and centroid.

    Each side of the rectangle lies on the points near it and not on the one that scatter carries farthest out.
    """
    near = points - points.mean(0)
    a, b, c, d = (_reach(near, axis, top) for axis, top in _sides(near))
    return np.concatenate([[max(a + c, b + d), min(a + c, b + d)], area(points), perimeter(points), centroid(points)])


def sizes_moves(points: Points) -> NDArray[np.float64]:
    """How the numbers of `sizes` follow from moving each point outwards (6 x n), to first order."""
    near = points - points.mean(0)
    sides = list(_sides(near))
    a, b, c, d = (_reach(near, axis, top) for axis, top in sides)
    share = [top / top.sum() for _, top in sides]
    spans = [share[0] + share[2], share[1] + share[3]]
    length, width = spans if a + c >= b + d else spans[::-1]
    ahead = np.roll(points, -1, axis=0) - points
    edge = np.linalg.norm(ahead, axis=1)
    along = ahead / np.maximum(edge, 1e-12)[:, None]
    beside = (edge + np.roll(edge, 1)) / 2
    bend = np.linalg.norm(along - np.roll(along, 1, axis=0), axis=1)
    off = (points - centroid(points)) * (beside / area(points))[:, None]
    return np.vstack([length, width, beside, bend, off.T])


def _sides(near: Points) -> Iterator[tuple[NDArray[np.float64], NDArray[np.bool_]]]:
    """The four directions of the smallest rectangle, and which points make its side there."""
    _, _, turn = vision().minAreaRect(np.ascontiguousarray(near, np.float32))
    depth = _DEPTH * float(np.median(np.linalg.norm(np.roll(near, -1, axis=0) - near, axis=1)))
    for angle in (0, 90, 180, 270):
        axis = math.radians(turn + angle)
        along = np.array([math.cos(axis), math.sin(axis)])
        out = near @ along
        yield along, out >= out.max() - depth


def _reach(points: Points, along: NDArray[np.float64], top: NDArray[np.bool_]) -> float:
    """How far points reach in a direction: the top of a parabola through those that make the side."""
    out = points @ along
    if int(top.sum()) < _LEAST_SIDE:
        return float(out.max())
    across = points[top] @ np.array([-along[1], along[0]])
    across = across - across.mean()
    curve, slope, level = np.polyfit(across, out[top], 2)
    if curve < 0 and abs(slope) <= -2 * curve * float(np.abs(across).max()):
        return float(level - slope**2 / (4 * curve))
    return float(out[top].mean())


def outline_readings(
    view: View, outline: Outline, figure: Callable[[Points], Values], gives: Sequence[Quantity]
) -> tuple[Reading, ...]:
    """Readings of one outline by `circle` or `sizes`: see `edge_readings`."""
    return edge_readings(view, [outline], figure, gives, _MOVES[figure])


def edge_readings(
    view: View,
    outlines: Sequence[Outline],
    figure: Callable[[Points], Values],
    gives: Sequence[Quantity],
    moves: Callable[[Points], Values],
) -> tuple[Reading, ...]:
    """Readings of the points of outlines, one after the other: scatter, where the edge is drawn, sources of the view.

    `moves` tells how the figure follows from moving each point outwards (numbers x points).
    """
    points = np.vstack([outline.points for outline in outlines])
    normals = np.vstack([outline.normals for outline in outlines])
    scatter = np.concatenate([np.full(len(outline.points), outline.scatter) for outline in outlines])
    mm = view.to_mm(points)
    value = figure(mm)
    step = view.to_mm(points + normals * scatter[:, None]) - mm
    own = np.sqrt(moves(mm) ** 2 @ (step**2).sum(1))
    shifts = np.concatenate([np.full(len(outline.points), edge_shift(outline.blur)) for outline in outlines])
    out = normals * rectangular(1.0) * shifts[:, None]
    edge = np.abs(figure(view.to_mm(points + out)) - figure(view.to_mm(points - out))) / 2
    says = f"edge drawn up to {float(shifts.max()):.2f} px off all round, by its blur; rectangular"
    scattered = f"points scatter by {float(np.median(scatter)):.2f} px"
    lines = [
        [Component("outline", float(u), math.inf, "A", scattered) for u in own],
        [Component("edge", float(u), math.inf, "B", says, (evenly(float(u)),)) for u in edge],
        *(source.components(figure, points) for source in view.sources),
    ]
    return tuple(
        Reading(quantity.name, float(value[index]), quantity.unit, Budget(tuple(line[index] for line in lines)))
        for index, quantity in enumerate(gives)
    )


def unbent(outline: Outline) -> Outline:
    """A round outline without the pull of its blur: light falls to half nearer to the middle, by sigma^2 / 2R.

    To first order in the curvature, for a disc or a hole alike.
    """
    x, y, diameter = circle(outline.points)
    out = (outline.points - [x, y]) * (1 + 2 * (outline.blur / diameter) ** 2) + [x, y]
    return replace(outline, points=np.asarray(out, float))


def roundness(view: View, outline: Outline) -> tuple[float, NDArray[np.float64]]:
    """Largest distance of an outline from its circle [mm], and the circle (centre x, y, diameter) [mm]."""
    mm = view.to_mm(outline.points)
    found = circle(mm)
    away = np.hypot(mm[:, 0] - found[0], mm[:, 1] - found[1]) - found[2] / 2
    return float(np.percentile(np.abs(away), 95)), found


#: figure of an outline -> how it follows from moving each point outwards
_MOVES: Final[dict[Callable[[Points], Values], Callable[[Points], Values]]] = {circle: circle_moves, sizes: sizes_moves}
