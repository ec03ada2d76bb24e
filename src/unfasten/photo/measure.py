"""Measuring on a photo: a kind of figure, the picks that make it, and its uncertainty.

Kinds and the picks they need: `distance` 2; `diameter` 3 or more on the rim; `angle` 3 (at the second) or 4 (two
lines); `area` 3 or more round the outline; `holes` lists of picks, one a hole, each 1 (centre only) or 3 or more on its
rim.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import product
from typing import Final

import numpy as np

from unfasten.evidence.errors import CallError
from unfasten.photo.budget import CARE, Budget, Component, Evaluation
from unfasten.photo.plane import Points
from unfasten.photo.reading import Reading
from unfasten.photo.scale import within
from unfasten.photo.shapes import Values, angle, area, centroid, circle, distance, perimeter
from unfasten.photo.view import View

#: what a figure is made of: plane points [mm] to numbers
Figure = Callable[[Points], Values]


@dataclass(frozen=True, slots=True)
class Pointing:
    """How well a point is picked: standard uncertainty per coordinate [px], and how well that is known."""

    u: float
    dof: float = math.inf
    evaluation: Evaluation = "B"
    says: str = ""


@dataclass(frozen=True, slots=True)
class Quantity:
    """Name and unit of one number of a figure."""

    name: str
    unit: str


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of measurement: how many picks it needs, and what it gives."""

    name: str
    least: int
    most: int | None
    gives: tuple[Quantity, ...]
    figure: Figure
    picks: str


def _outline(points: Points) -> Values:
    return np.concatenate([area(points), perimeter(points), centroid(points)])


KINDS: Final = {
    kind.name: kind
    for kind in (
        Kind("distance", 2, 2, (Quantity("distance", "mm"),), distance, "two points"),
        Kind("angle", 3, 4, (Quantity("angle", "°"),), angle, "three points, the second at the corner, or two lines"),
        Kind(
            "diameter",
            3,
            None,
            (Quantity("centre x", "mm"), Quantity("centre y", "mm"), Quantity("diameter", "mm")),
            circle,
            "three or more points on the rim",
        ),
        Kind(
            "area",
            3,
            None,
            (
                Quantity("area", "mm²"),
                Quantity("perimeter", "mm"),
                Quantity("centroid x", "mm"),
                Quantity("centroid y", "mm"),
            ),
            _outline,
            "three or more points round the outline",
        ),
    )
}
HOLES: Final = "holes"


def measure(view: View, kind: str, picks: Points, pointing: Pointing, p: float = 0.95) -> tuple[Reading, ...]:
    """Measure a figure on a view from picks in the photo (n x 2) [px]; raises `CallError` for a wrong number of picks.

    The reading that the kind is named after comes first.
    """
    what = kind_of(kind)
    check_picks(what, len(picks))
    found = readings(view, what.figure, what.gives, picks, pointing, p)
    return tuple(sorted(found, key=lambda one: one.name != kind))


def readings(
    view: View, figure: Figure, gives: Sequence[Quantity], picks: Points, pointing: Pointing, p: float = 0.95
) -> tuple[Reading, ...]:
    """Compute a figure and its budget: pointing first, then every source of the view (JCGM 100, 5.1)."""
    value = figure(within(view.to_mm(picks), "picks"))
    told = pointing.dof, pointing.evaluation, pointing.says
    own = [Component("pointing", float(u), *told, doubt=CARE) for u in _pointing(view, figure, picks, pointing.u)]
    lines = [own, *(source.components(figure, picks) for source in view.sources)]
    return tuple(
        Reading(quantity.name, float(value[index]), quantity.unit, Budget(tuple(line[index] for line in lines)), p)
        for index, quantity in enumerate(gives)
    )


def _pointing(view: View, figure: Figure, picks: Points, u: float) -> Values:
    """Contribution of independent picks: both coordinates of each are moved by one standard uncertainty."""
    moved = []
    for index, axis, step in product(range(len(picks)), (0, 1), (u, -u)):
        one = picks.copy()
        one[index, axis] += step
        moved.append(one)
    mm = view.to_mm(np.vstack(moved)).reshape(len(moved), *picks.shape)
    values = np.array([figure(one) for one in mm])
    halves = (values[0::2] - values[1::2]) / 2
    return np.asarray(np.sqrt(np.sum(np.square(halves), axis=0)), float)


def kind_of(name: str) -> Kind:
    """The kind of this name; raises `CallError` for an unknown one."""
    if name not in KINDS:
        message = f'there is no measurement "{name}"'
        raise CallError("photo.unknown-kind", "kind", message, f"name one of {', '.join([*KINDS, HOLES])}")
    return KINDS[name]


def check_picks(kind: Kind, count: int) -> None:
    """Raise `CallError` unless the kind can be made of so many picks."""
    if count < kind.least or (kind.most is not None and count > kind.most):
        raise CallError("photo.picks", "picks", f"{kind.name} is given {count} picks", f"pick {kind.picks}")
