"""The view: how points in a photo become millimetres, and every independent way in which that may be off.

A map takes photo points (n x 2) [px] to points at the height of the object (n x 2) [mm]. A `Source` of uncertainty
holds pairs of maps, each one standard uncertainty to either side, or a set of maps that are equally likely; what is
measured is computed through all of them, so that a source acts on all points of a measurement at once.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from unfasten.photo.budget import Component, Evaluation
from unfasten.photo.convolve import Values, evenly
from unfasten.photo.lens import Lens
from unfasten.photo.plane import Plane, Points

Map = Callable[[Points], Points]


@dataclass(frozen=True, slots=True)
class Source:
    """One source of uncertainty: pairs of maps one standard uncertainty up and down, or equally likely maps
    (`likely`: the first is the one that is used, the others are what it may be).

    `even`: what moves along a pair is rectangular, not normal. `doubt`: see `Component`.
    """

    name: str
    evaluation: Evaluation
    dof: float
    pairs: tuple[tuple[Map, Map], ...]
    says: str = ""
    even: bool = False
    likely: tuple[Map, ...] = ()
    doubt: str = ""

    def components(self, figure: Callable[[Points], Values], points: Points) -> list[Component]:
        """The source's line in the budget of every number of a figure, which is made of photo points (n x 2) [px]."""
        if self.likely:
            middle = figure(self.likely[0](points))
            away = np.array([figure(one(points)) - middle for one in self.likely[1:]])
            sets = [(tuple(float(x) for x in errors),) for errors in away.T]
            return [self._line(float(np.sqrt(np.mean(np.square(one)))), one) for one in sets]
        halves = np.array([(figure(up(points)) - figure(down(points))) / 2 for up, down in self.pairs])
        u = np.sqrt(np.sum(np.square(halves), axis=0))
        if not self.even:
            return [self._line(float(one), ()) for one in u]
        sets_of = [tuple(evenly(float(half)) for half in each if half) for each in halves.T]
        return [self._line(float(one), errors) for one, errors in zip(u, sets_of, strict=True)]

    def _line(self, u: float, errors: tuple[tuple[float, ...], ...]) -> Component:
        return Component(self.name, u, self.dof, self.evaluation, self.says, errors, self.doubt)


@dataclass(frozen=True, slots=True)
class Rise:
    """Height of the object's plane above the scale's plane and of the camera above the scale's plane [mm]."""

    height: float = 0.0
    u_height: float = 0.0
    camera: float = math.inf
    u_camera: float = 0.0
    foot: tuple[float, float] = (0.0, 0.0)

    def lifted(self, mm: Points) -> Points:
        """Points at the object's height that the camera sees at these points of the scale's plane.

        X = m + (C - m) h / Z: lengths shrink by (Z - h) / Z, so what was not corrected reads long by h / (Z - h).
        """
        return np.asarray(mm + (np.array(self.foot) - mm) * (self.height / self.camera), float)


@dataclass(frozen=True, slots=True)
class View:
    """A photo's lens, plane and height; `sources` are all that may be off."""

    plane: Plane
    lens: Lens | None = None
    rise: Rise = Rise()
    sources: tuple[Source, ...] = ()

    def to_mm(self, px: Points) -> Points:
        """Points at the object's height [mm] of points in the photo [px]."""
        return self.rise.lifted(self.plane.to_mm(px if self.lens is None else self.lens.ideal(px)))

    def to_px(self, mm: Points) -> Points:
        """Points in the photo [px] of points at the object's height [mm]."""
        share = self.rise.height / self.rise.camera
        ideal = self.plane.to_px((mm - np.array(self.rise.foot) * share) / (1 - share))
        return ideal if self.lens is None else self.lens.seen(ideal)

    def with_sources(self, *more: Source) -> View:
        """The view with more sources of uncertainty."""
        return replace(self, sources=(*self.sources, *more))


def fit_source(view: View, says: str, doubt: str = "") -> Source:
    """Uncertainty of the fitted plane: eight independent steps of its covariance; `doubt` as in `Component`."""
    pairs = tuple(_pair(view, view.plane.moved(step), view.plane.moved(-step)) for step in view.plane.directions())
    how: Evaluation = "A" if math.isfinite(view.plane.dof) and not doubt else "B"
    return Source("scale fit", how, view.plane.dof, pairs, says, doubt=doubt)


def reference_source(view: View, steps: tuple[Points, ...], says: str, *, even: bool) -> Source:
    """Uncertainty of the reference's own size: each step moves its points by one standard uncertainty [mm].

    `even`: the size lies anywhere within limits, and is not spread normally.
    """
    plane = view.plane
    pairs = tuple(
        _pair(view, plane.refitted(plane.source, plane.target + s), plane.refitted(plane.source, plane.target - s))
        for s in steps
    )
    return Source("scale reference", "B", math.inf, pairs, says, even=even)


def lens_source(view: View, refit: Callable[[Lens], Plane], says: str) -> Source:
    """Uncertainty of a calibrated lens; `refit` gives the plane of the reference through another lens."""
    lens = view.lens
    if lens is None:
        raise ValueError("the view has no lens")

    def stepped(moved: Lens) -> Map:
        return replace(view, lens=moved, plane=refit(moved)).to_mm

    pairs = tuple((stepped(lens.moved(step)), stepped(lens.moved(-step))) for step in lens.directions())
    return Source("lens", "A", math.inf, pairs, says)


def relative_source(view: View, name: str, u: float, says: str, *, even: bool = False) -> Source:
    """A relative uncertainty of all lengths; `even`: it lies anywhere within limits."""
    pair = (lambda px: view.to_mm(px) * (1 + u), lambda px: view.to_mm(px) * (1 - u))
    return Source(name, "B", math.inf, (pair,), says, even=even)


def height_source(view: View, says: str) -> Source:
    """Uncertainty of the object's height and of the camera's distance."""
    rise = view.rise
    steps = [
        (replace(rise, height=rise.height + rise.u_height), replace(rise, height=rise.height - rise.u_height)),
        (replace(rise, camera=rise.camera + rise.u_camera), replace(rise, camera=rise.camera - rise.u_camera)),
    ]
    pairs = tuple((replace(view, rise=up).to_mm, replace(view, rise=down).to_mm) for up, down in steps)
    return Source("height", "B", math.inf, pairs, says)


def _pair(view: View, up: Plane, down: Plane) -> tuple[Map, Map]:
    return replace(view, plane=up).to_mm, replace(view, plane=down).to_mm
