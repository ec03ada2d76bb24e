"""The scale of two points a known distance apart: it tells size, but neither tilt nor perspective."""

from __future__ import annotations

import math

import numpy as np

from unfasten.evidence.errors import CallError
from unfasten.photo.assumed import assumed
from unfasten.photo.budget import dof_of_doubt, rectangular
from unfasten.photo.lens import focal_px, pinhole
from unfasten.photo.plane import Plane, Points
from unfasten.photo.pose import Height, Pose
from unfasten.photo.scale import Object, Optics, Scaled, lens_sources_of, raised, within
from unfasten.photo.view import Map, Source, View, relative_source


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
    tilted = _tilt_sources(view, ideal, size, math.radians(tilt), optics)
    ends_source = Source(
        "scale fit", "B", dof_of_doubt(doubt), _ends_pairs(view, ends, size, u), f"two ends picked to {u:g} px each"
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


def _tilt_sources(view: View, ends: Points, size: float, most: float, optics: Optics) -> list[Source]:
    """Perspective to first order (both ways the camera may lean), and foreshortening, which is of second order.

    A lean anywhere within a disc of radius `most` has a standard deviation of half of it along either axis.
    """
    if most == 0:
        return []
    usual = focal_px(assumed("lens.usual-focal"), optics.width, optics.height)
    lens = optics.pinhole or pinhole(optics.width, optics.height, usual)
    middle, focal = lens.matrix[:2, 2], lens.focal

    def leaning(towards: float, lean: float) -> Map:
        return _with_plane(view, _leaning(ends, size, middle, focal, towards, lean))

    pairs = tuple((leaning(a, most / 2), leaning(a, -most / 2)) for a in (0.0, math.pi / 2))
    says = f"camera leans by up to {math.degrees(most):g}°, not known where to"
    short = relative_source(view, "foreshortening", rectangular(most**2 / 2), says)
    return [Source("tilt", "B", math.inf, pairs, says), short]


def _leaning(ends: Points, size: float, middle: Points, focal: float, towards: float, lean: float) -> Plane:
    """The plane seen by a camera that leans: depth grows as 1 / (n . ray), n the normal of the plane."""
    n = np.array([math.sin(lean) * math.cos(towards), math.sin(lean) * math.sin(towards), math.cos(lean)])
    first = np.cross(n, [0.0, 1.0, 0.0])
    first = first / np.linalg.norm(first)
    second = np.cross(n, first)
    inward = np.array([[1 / focal, 0, -middle[0] / focal], [0, 1 / focal, -middle[1] / focal], [0, 0, 1.0]])
    px_mm = np.vstack([first, second, n]) @ inward
    at = np.column_stack([ends, np.ones(2)]) @ px_mm.T
    at = at[:, :2] / at[:, 2:]
    factor = size / float(np.linalg.norm(at[1] - at[0]))
    return Plane(np.diag([factor, factor, 1.0]) @ px_mm, np.zeros((8, 8)), 0.0, 0.0, math.inf, ends, at * factor)
