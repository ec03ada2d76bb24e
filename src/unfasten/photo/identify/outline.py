"""Plane outlines given by their corners in mm: area, length around, crossings, and how much of the plane they cover.

The covered area is exact: the plane is cut into upright strips at every corner and crossing, and inside a strip the
covered height changes linearly.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import pairwise

Point = tuple[float, float]
Outline = Sequence[Point]


def area(outline: Outline) -> float:
    """Area inside [mm2], whichever way round the corners run (Gauss's formula).

    >>> area([(0, 0), (4, 0), (4, 3)])
    6.0
    """
    return abs(math.fsum(ax * by - bx * ay for (ax, ay), (bx, by) in _edges(outline))) / 2


def around(outline: Outline) -> float:
    """Length around [mm]."""
    return math.fsum(math.dist(a, b) for a, b in _edges(outline))


def area_u(outline: Outline, u: float) -> float:
    """Standard uncertainty of the area [mm2] when every coordinate of every corner has `u` [mm] on its own.

    The derivative of Gauss's formula by a corner is half the distance between its neighbours (JCGM 100, 5.1.2).
    """
    count = len(outline)
    squares = (math.dist(outline[number - 1], outline[(number + 1) % count]) ** 2 for number in range(count))
    return u / 2 * math.sqrt(math.fsum(squares))


def crosses_itself(outline: Outline) -> bool:
    """Tell whether two edges of an outline meet elsewhere than at their common corner."""
    edges = list(_edges(outline))
    last = len(edges) - 1
    return any(
        _meeting(edges[one], edges[other]) is not None
        for one in range(len(edges))
        for other in range(one + 2, len(edges))
        if (one, other) != (0, last)
    )


def covered(outlines: Sequence[Outline]) -> float:
    """Area that at least one of the outlines covers [mm2]; what two of them cover counts once."""
    return math.fsum(
        area(outlines[group[0]]) if len(group) == 1 else _strips([outlines[number] for number in group])
        for group in touching(outlines)
    )


def touching(outlines: Sequence[Outline]) -> list[list[int]]:
    """Numbers of the outlines, grouped so that the upright boxes around them overlap only inside a group."""
    boxes = [_box(outline) for outline in outlines]
    groups: dict[int, list[int]] = {number: [number] for number in range(len(outlines))}
    of = list(range(len(outlines)))
    open_boxes: list[int] = []
    for number in sorted(range(len(boxes)), key=lambda n: boxes[n]):
        open_boxes = [other for other in open_boxes if boxes[other][2] > boxes[number][0]]
        for other in open_boxes:
            if boxes[other][1] < boxes[number][3] and boxes[number][1] < boxes[other][3] and of[other] != of[number]:
                small, large = sorted((of[other], of[number]), key=lambda name: len(groups[name]))
                for member in groups[small]:
                    of[member] = large
                groups[large] += groups.pop(small)
        open_boxes.append(number)
    return sorted(sorted(group) for group in groups.values())


def _edges(outline: Outline) -> Iterator[tuple[Point, Point]]:
    return ((outline[number - 1], corner) for number, corner in enumerate(outline))


def _box(outline: Outline) -> tuple[float, float, float, float]:
    """Least x, least y, greatest x, greatest y."""
    across, up = [x for x, _ in outline], [y for _, y in outline]
    return min(across), min(up), max(across), max(up)


def _strips(outlines: Sequence[Outline]) -> float:
    edges = [edge for outline in outlines for edge in _edges(outline)]
    cuts = {x for (x, _), _ in edges}
    for number, one in enumerate(edges):
        for other in edges[number + 1 :]:
            meeting = _meeting(one, other)
            if meeting is not None:
                cuts.add(meeting)
    ends = sorted(cuts)
    return math.fsum((right - left) * _covered_height(outlines, (left + right) / 2) for left, right in pairwise(ends))


def _covered_height(outlines: Sequence[Outline], x: float) -> float:
    """Length of an upright line at x that lies inside at least one outline."""
    spans = sorted(span for outline in outlines for span in _inside(outline, x))
    total, top = 0.0, -math.inf
    for low, high in spans:
        total += max(0.0, high - max(low, top))
        top = max(top, high)
    return total


def _inside(outline: Outline, x: float) -> Iterator[tuple[float, float]]:
    hits = sorted(
        ay + (by - ay) * (x - ax) / (bx - ax) for (ax, ay), (bx, by) in _edges(outline) if (ax <= x) != (bx <= x)
    )
    return zip(hits[::2], hits[1::2], strict=True)


def _meeting(one: tuple[Point, Point], other: tuple[Point, Point]) -> float | None:
    """The x where two edges cross or touch; None if they do not, or lie in one line."""
    ((ax, ay), (bx, by)), ((cx, cy), (dx, dy)) = one, other
    turn = (bx - ax) * (dy - cy) - (by - ay) * (dx - cx)
    if turn == 0:
        return None
    s = ((cx - ax) * (dy - cy) - (cy - ay) * (dx - cx)) / turn
    t = ((cx - ax) * (by - ay) - (cy - ay) * (bx - ax)) / turn
    return ax + s * (bx - ax) if 0 <= s <= 1 and 0 <= t <= 1 else None
