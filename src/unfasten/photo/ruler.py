"""The scale of two points a known distance apart: it tells size, but neither tilt nor perspective."""

from __future__ import annotations

import math
from typing import Final

import numpy as np

from unfasten.evidence.errors import CallError
from unfasten.photo.assumed import assumed
from unfasten.photo.budget import CARE, dof_of_doubt
from unfasten.photo.lens import focal_px, pinhole
from unfasten.photo.plane import Matrix, Plane, Points, project
from unfasten.photo.pose import Height, Pose
from unfasten.photo.scale import Object, Optics, Scaled, lens_sources_of, raised, within
from unfasten.photo.view import Map, Source, View, relative_source

_LEANS: Final = 60
_GOLDEN: Final = math.pi * (3 - math.sqrt(5))


def length_scale(
    ends: Points, length: tuple[float, float], u: float, doubt: float, optics: Optics, about: Object, tilt: float
) -> Scaled:
    """A view from two picked ends [px] and their distance (value, u) [mm]; the camera leans by `tilt` [deg] at most.

    Raises `CallError` where the two ends are one point.
    """
    lens = optics.lens
    ideal = within(ends if lens is None else lens.ideal(ends), "scale")
    if float(np.linalg.norm(ideal[1] - ideal[0])) < 1.0:
        raise CallError("photo.no-length", "scale", "the two ends of the length are one point", "pick both ends of it")
    size, u_size = length
    plane = _similar(ideal, size)
    view = View(plane, lens)
    pose = None
    if optics.pinhole is not None:
        per_px = float(np.linalg.norm(plane.px_mm[0, :2]))
        foot = plane.to_mm(optics.pinhole.matrix[None, :2, 2])[0]
        pose = Pose((float(foot[0]), float(foot[1])), optics.pinhole.focal * per_px, 0.0)
    view, height_sources, notes = raised(view, Height(), optics, pose, about)
    told, lens_sources = lens_sources_of(view, optics, lambda moved: _similar(moved.ideal(ends), size))
    tilted = _tilt_source(view, ideal, size, math.radians(tilt), optics)
    ends_source = Source(
        "scale fit",
        "B",
        dof_of_doubt(doubt),
        _ends_pairs(view, ends, size, u),
        f"two ends picked to {u:g} px each",
        doubt=CARE,
    )
    sized = relative_source(view, "scale reference", u_size / size, f"length {size:g} ± {u_size:.2g} mm")
    notes = [f"two points tell no tilt: the camera is taken as square to the plane within {tilt:g}°", *told, *notes]
    view = view.with_sources(ends_source, sized, *lens_sources, *tilted, *height_sources)
    return Scaled(view, "length", pose, tuple(notes))


def _similar(ideal: Points, size: float) -> Plane:
    """The plane seen squarely: one scale, the first end at the origin."""
    factor = size / float(np.linalg.norm(ideal[1] - ideal[0]))
    x, y = -factor * ideal[0]
    px_mm = np.array([[factor, 0, x], [0, factor, y], [0, 0, 1.0]])
    target = (ideal - ideal[0]) * factor
    return Plane(px_mm, np.zeros((8, 8)), 0.0, 0.0, math.inf, ideal, target)


def _with_plane(view: View, plane: Plane) -> Map:
    return View(plane, view.lens, view.rise).to_mm


def _ends_pairs(view: View, ends: Points, size: float, u: float) -> tuple[tuple[Map, Map], ...]:
    def moved(index: int, axis: int, step: float) -> Map:
        shifted = ends.copy()
        shifted[index, axis] += step
        return _with_plane(view, _similar(shifted if view.lens is None else view.lens.ideal(shifted), size))

    return tuple((moved(i, axis, u), moved(i, axis, -u)) for i in (0, 1) for axis in (0, 1))


def _tilt_source(view: View, ends: Points, size: float, most: float, optics: Optics) -> list[Source]:
    """Perspective and foreshortening of every lean within a cone: equally likely normals spread evenly over it.

    Lengths along the two ends are not foreshortened against them, lengths across are; perspective moves what lies off
    them most. The figure is computed through each lean, so that both come out as they are (JCGM 101, 5.2).
    """
    if most == 0:
        return []
    usual = focal_px(assumed("lens.usual-focal"), optics.width, optics.height)
    lens = optics.pinhole or pinhole(optics.width, optics.height, usual)
    middle, focal = lens.matrix[:2, 2], lens.focal
    leans = [(math.sqrt((number + 0.5) / _LEANS) * most, number * _GOLDEN) for number in range(_LEANS)]
    maps = [_with_plane(view, _leaning(ends, size, middle, focal, towards, lean)) for lean, towards in leans]
    says = f"camera leans anywhere within {math.degrees(most):g}°, not known where to"
    return [Source("tilt", "B", math.inf, (), says, likely=(view.to_mm, *maps))]


def _leaning(ends: Points, size: float, middle: Points, focal: float, towards: float, lean: float) -> Plane:
    """The plane seen by a camera that leans: depth grows as 1 / (n . ray), n the normal of the plane."""
    n = np.array([math.sin(lean) * math.cos(towards), math.sin(lean) * math.sin(towards), math.cos(lean)])
    first = np.cross(n, [0.0, 1.0, 0.0])
    first = first / np.linalg.norm(first)
    second = np.cross(n, first)
    inward = np.array([[1 / focal, 0, -middle[0] / focal], [0, 1 / focal, -middle[1] / focal], [0, 0, 1.0]])
    px_mm = np.vstack([first, second, n]) @ inward
    target = (ends - ends[0]) * (size / float(np.linalg.norm(ends[1] - ends[0])))
    px_mm = _laid(project(px_mm, ends), target) @ px_mm
    return Plane(px_mm, np.zeros((8, 8)), 0.0, 0.0, math.inf, ends, target)


def _laid(here: Points, there: Points) -> Matrix:
    """The turn, scale and shift (3 x 3) that lays two points onto two others."""
    (a, b), (c, d) = ((complex(*one), complex(*other)) for one, other in (here, there))
    turn = (d - c) / (b - a)
    shift = c - turn * a
    return np.array([[turn.real, -turn.imag, shift.real], [turn.imag, turn.real, shift.imag], [0, 0, 1.0]])
