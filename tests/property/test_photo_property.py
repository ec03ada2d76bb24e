"""Maps between photo and plane undo each other, and figures do not depend on how the plane is turned."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from unfasten.photo.lens import Lens
from unfasten.photo.plane import fit_plane
from unfasten.photo.pose import camera_pose
from unfasten.photo.rendered import camera_over
from unfasten.photo.shapes import angle, area, centroid, circle, distance, perimeter
from unfasten.photo.view import Rise, View

FRAME = np.array([[0.0, 0], [120, 0], [120, 90], [0, 90], [60, 45]])
NUMBER = st.floats(-1, 1, allow_nan=False)


@st.composite
def lenses(draw: st.DrawFn) -> Lens:
    k1, k2, p1, p2 = (draw(NUMBER) for _ in range(4))
    return Lens(1000, 750, (1000.0, 1000.0, 500.0, 375.0, 0.15 * k1, 0.05 * k2, 1e-3 * p1, 1e-3 * p2, 0.0))


@given(lenses(), st.floats(0, 45), st.floats(0, 360), st.floats(0, 360), st.floats(0, 20))
@settings(max_examples=60, deadline=None)
def test_photo_and_plane_undo_each_other(lens: Lens, tilt: float, towards: float, spin: float, height: float) -> None:
    camera = camera_over(lens, (60.0, 45.0), 260.0, tilt, towards, spin)
    plane = fit_plane(lens.ideal(camera.seen(FRAME)), FRAME, sigma=0.5)
    pose = camera_pose(plane, lens)
    assert pose.height == pytest.approx(-camera.centre[2], rel=1e-4)
    assert pose.tilt == pytest.approx(tilt, abs=0.05)
    view = View(plane, lens, Rise(height, 0.0, pose.height, 0.0, pose.foot))
    assert view.to_mm(camera.seen(FRAME, height)) == pytest.approx(FRAME, abs=1e-3)
    assert view.to_px(FRAME) == pytest.approx(camera.seen(FRAME, height), abs=1e-2)


POINTS = st.lists(st.tuples(st.floats(-50, 50), st.floats(-50, 50)), min_size=4, max_size=9, unique=True)


@given(POINTS, st.floats(0, 2 * math.pi), st.floats(-100, 100), st.floats(-100, 100))
@settings(max_examples=80, deadline=None)
def test_figures_do_not_depend_on_where_the_origin_lies(
    points: list[tuple[float, float]], turn: float, x: float, y: float
) -> None:
    here = np.array(points)
    rotation = np.array([[math.cos(turn), -math.sin(turn)], [math.sin(turn), math.cos(turn)]])
    there = here @ rotation.T + [x, y]
    for figure in (area, perimeter, lambda p: distance(p[:2])):
        assert figure(there) == pytest.approx(figure(here), rel=1e-9, abs=1e-7)
    assert area(np.roll(here, 1, axis=0)) == pytest.approx(area(here), rel=1e-9, abs=1e-7)


@given(st.floats(-80, 80), st.floats(-80, 80), st.floats(0.5, 60), st.floats(0, 6), st.integers(5, 40))
@settings(max_examples=60, deadline=None)
def test_circle_through_exact_points_is_that_circle(
    x: float, y: float, diameter: float, start: float, count: int
) -> None:
    turn = start + np.linspace(0, 4, count)
    rim = np.array([x, y]) + diameter / 2 * np.column_stack([np.cos(turn), np.sin(turn)])
    assert circle(rim) == pytest.approx([x, y, diameter], abs=1e-6)


@given(st.floats(0.01, math.pi - 0.01), st.floats(0, 6))
@settings(max_examples=40, deadline=None)
def test_angle_between_two_arms(opening: float, start: float) -> None:
    arms = np.array(
        [[math.cos(start), math.sin(start)], [0, 0], [math.cos(start + opening), math.sin(start + opening)]]
    )
    assert float(angle(arms)[0]) == pytest.approx(math.degrees(opening), abs=1e-6)


@given(st.floats(1, 50), st.floats(1, 50))
def test_centroid_of_a_triangle_is_the_mean_of_its_corners(width: float, height: float) -> None:
    corners = np.array([[0.0, 0], [width, 0], [0, height]])
    assert centroid(corners) == pytest.approx(corners.mean(0))
