"""Use of one side of a board straight from picks on a photo: every area shares the photo's scale, lens and height.

The share is one figure of all picks, so that what moves all areas alike falls out of it by itself.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import numpy as np

from unfasten.photo.identify.boarduse import Body, Side, oddities
from unfasten.photo.measure import Pointing, Quantity, readings
from unfasten.photo.plane import Points
from unfasten.photo.reading import Reading
from unfasten.photo.shapes import Values, area
from unfasten.photo.view import View

GIVES: Final = (
    Quantity("board", "mm²"),
    Quantity("bodies", "mm²"),
    Quantity("use", "%"),
    Quantity("empty", "%"),
)


@dataclass(frozen=True, slots=True)
class BoardView:
    """Board area, body area, use and empty share with their budgets, and what is odd about the outlines."""

    readings: tuple[Reading, ...]
    says: tuple[str, ...]


def board_on(view: View, board: Points, bodies: Mapping[str, Points], pointing: Pointing) -> BoardView:
    """Measure the outline of a board and of the bodies on it, each picked round in the photo (n x 2) [px]."""
    outlines = [board, *bodies.values()]
    ends = np.cumsum([0, *(len(outline) for outline in outlines)])
    flat = [[(float(x), float(y)) for x, y in view.to_mm(outline)] for outline in outlines]
    placed = tuple(Body(name, 0.0, outline) for name, outline in zip(bodies, flat[1:], strict=True))
    says, doubled, outside = oddities(Side("side", Body("board", 0.0, flat[0]), placed))

    def figure(points: Points) -> Values:
        first, *others = (float(area(points[a:b])[0]) for a, b in pairwise(ends))
        taken = sum(others)
        empty = 1 - max(0.0, taken - doubled - outside) / first
        return np.array([first, taken, 100 * taken / first, 100 * empty])

    return BoardView(readings(view, figure, GIVES, np.vstack(outlines), pointing), tuple(says))
