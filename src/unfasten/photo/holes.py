"""Patterns of holes: centres, diameters, distances, from picks or from the rims that light draws."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations, pairwise
from typing import Final

import numpy as np

from unfasten.evidence.errors import CallError
from unfasten.photo.measure import Pointing, Quantity, readings
from unfasten.photo.outline import Outline, edge_readings
from unfasten.photo.plane import Points
from unfasten.photo.reading import Reading
from unfasten.photo.shapes import Values, circle, circle_moves
from unfasten.photo.view import View

_STEP: Final = 1e-6


@dataclass(frozen=True, slots=True)
class Pattern:
    """How many points each hole has: 1 (its centre) or three and more on its rim.

    Its figure is, hole by hole, the centre and (with a rim) the diameter, then the distance of every two centres.
    Centres are in the pattern's own frame: hole 1 is the origin, hole 2 lies on the x axis, y turns as in the photo.
    """

    counts: tuple[int, ...]

    @property
    def gives(self) -> tuple[Quantity, ...]:
        """Names and units of the figure's numbers."""
        out = []
        for number, count in enumerate(self.counts, 1):
            out += [Quantity(f"hole {number} x", "mm"), Quantity(f"hole {number} y", "mm")]
            out += [Quantity(f"hole {number} diameter", "mm")] if count > 1 else []
        pairs = combinations(range(1, len(self.counts) + 1), 2)
        return (*out, *(Quantity(f"holes {i} to {j}", "mm") for i, j in pairs))

    def figure(self, points: Points) -> Values:
        """The numbers of the pattern from all points, hole after hole."""
        return self._joined([_hole(points[a:b]) for a, b in pairwise(self._ends)])

    def moves(self, points: Points) -> Values:
        """How the numbers follow from moving each point of a rim outwards (numbers x points), to first order."""
        found = [_hole(points[a:b]) for a, b in pairwise(self._ends)]
        base, out = self._joined(found), []
        for index, (a, b) in enumerate(pairwise(self._ends)):
            slopes = []
            for place in range(3):
                moved = [hole.copy() for hole in found]
                moved[index][place] += _STEP
                slopes.append((self._joined(moved) - base) / _STEP)
            out.append(np.array(slopes).T @ circle_moves(points[a:b]))
        return np.hstack(out)

    @property
    def _ends(self) -> list[int]:
        return [int(end) for end in np.cumsum([0, *self.counts])]

    def _joined(self, found: Sequence[Values]) -> Values:
        centres = in_own_frame(np.array([hole[:2] for hole in found]))
        own = [np.concatenate([centre, hole[2:]]) for centre, hole in zip(centres, found, strict=True)]
        apart = [float(np.linalg.norm(a - b)) for a, b in combinations(centres, 2)]
        return np.concatenate([*own, np.array(apart)])


def measure_holes(view: View, holes: Sequence[Points], pointing: Pointing, p: float = 0.95) -> tuple[Reading, ...]:
    """The pattern of holes that are picked, each a list of picks [px]: its centre, or three or more on its rim."""
    pattern = Pattern(tuple(len(rim) for rim in holes))
    if not holes:
        raise CallError("photo.picks", "picks", "no hole is given", "give a list of picks for each hole")
    for number, count in enumerate(pattern.counts, 1):
        if count < 1 or count == 2:
            message = f"hole {number} has {count} picks"
            raise CallError("photo.picks", "picks", message, "pick its centre, or three or more points on its rim")
    return readings(view, pattern.figure, pattern.gives, np.vstack(list(holes)), pointing, p)


def rim_pattern(view: View, rims: Sequence[Outline]) -> tuple[Reading, ...]:
    """The pattern of holes whose rims were drawn to the edge of light."""
    pattern = Pattern(tuple(len(rim.points) for rim in rims))
    return edge_readings(view, rims, pattern.figure, pattern.gives, pattern.moves)


def in_own_frame(centres: Points) -> Points:
    """Centres with the first at the origin and the second on the x axis; y turns as it does in the photo."""
    near = centres - centres[0]
    if len(near) < 2 or not near[1].any():
        return np.asarray(near, float)
    x = near[1] / np.linalg.norm(near[1])
    return np.asarray(near @ np.array([[x[0], -x[1]], [x[1], x[0]]]), float)


def _hole(points: Points) -> Values:
    return points[0].copy() if len(points) == 1 else circle(points)
