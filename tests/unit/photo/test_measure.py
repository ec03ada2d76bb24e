"""Figures from picks: values, contributions, wrong picks."""

from __future__ import annotations

import math

import numpy as np
import pytest
import scipy.optimize

from unfasten.evidence.errors import CallError, DataError
from unfasten.photo.holes import measure_holes
from unfasten.photo.lens import pinhole
from unfasten.photo.measure import Pointing, measure
from unfasten.photo.plane import fit_plane
from unfasten.photo.pose import camera_pose
from unfasten.photo.rendered import camera_over
from unfasten.photo.shapes import angle, area, centroid, circle, perimeter
from unfasten.photo.view import Rise, View, height_source, relative_source

LENS = pinhole(1000, 800, 1000.0)
CAMERA = camera_over(LENS, (50.0, 40.0), 300.0, 25.0, 40.0, 5.0)
FRAME = np.array([[0.0, 0], [100, 0], [100, 80], [0, 80]])
VIEW = View(fit_plane(CAMERA.seen(FRAME), FRAME, sigma=0.5))


def rim(x: float, y: float, diameter: float, count: int = 12) -> np.ndarray:
    turn = np.linspace(0, 2 * math.pi, count, endpoint=False)
    return np.column_stack([x + diameter / 2 * np.cos(turn), y + diameter / 2 * np.sin(turn)])


def test_distance_through_a_tilted_camera() -> None:
    (found,) = measure(VIEW, "distance", CAMERA.seen(np.array([[10.0, 10], [70, 50]])), Pointing(0.5))
    assert found.value == pytest.approx(math.hypot(60, 40))
    assert found.unit == "mm"


def test_diameter_comes_first_of_its_kind() -> None:
    found = measure(VIEW, "diameter", CAMERA.seen(rim(40, 30, 12.5)), Pointing(0.5))
    assert [one.name for one in found] == ["diameter", "centre x", "centre y"]
    assert [one.value for one in found] == pytest.approx([12.5, 40, 30])


def test_more_picks_on_a_rim_tell_its_diameter_better() -> None:
    few = measure(VIEW, "diameter", CAMERA.seen(rim(40, 30, 12.5, 4)), Pointing(0.5))[0]
    many = measure(VIEW, "diameter", CAMERA.seen(rim(40, 30, 12.5, 16)), Pointing(0.5))[0]
    assert many.u == pytest.approx(few.u / 2, rel=0.05)


@pytest.mark.parametrize(("points", "degrees"), [
    ([[10, 0], [0, 0], [0, 10]], 90.0),
    ([[10, 0], [0, 0], [10, 10]], 45.0),
    ([[0, 0], [10, 0], [0, 5], [10, 15]], 45.0),
    ([[0, 0], [10, 0], [10, 5], [0, 5]], 180.0),
])  # fmt: skip
def test_angle(points: list[list[float]], degrees: float) -> None:
    assert float(angle(np.array(points, float))[0]) == pytest.approx(degrees)


def test_area_perimeter_and_centroid_of_an_l_shape() -> None:
    shape = np.array([[0.0, 0], [40, 0], [40, 10], [10, 10], [10, 30], [0, 30]])
    assert float(area(shape)[0]) == pytest.approx(600)
    assert float(perimeter(shape)[0]) == pytest.approx(140)
    # 40 x 10 at (20, 5) and 10 x 20 at (5, 20)
    assert centroid(shape) == pytest.approx([(400 * 20 + 200 * 5) / 600, (400 * 5 + 200 * 20) / 600])


def test_area_does_not_depend_on_the_way_round() -> None:
    shape = np.array([[0.0, 0], [40, 0], [40, 10], [0, 10]])
    assert area(shape) == pytest.approx(area(shape[::-1]))


def test_circle_is_that_of_least_squared_distance() -> None:
    """An independent minimiser of the same sum, on scattered points of an arc."""
    rng = np.random.default_rng(5)
    turn = rng.uniform(0, 2.0, 40)
    points = np.column_stack([30 + 8 * np.cos(turn), 20 + 8 * np.sin(turn)]) + rng.normal(0, 0.05, (40, 2))
    done = scipy.optimize.least_squares(
        lambda at: np.hypot(points[:, 0] - at[0], points[:, 1] - at[1]) - at[2], [29, 19, 7], xtol=1e-14, ftol=1e-14
    )
    assert circle(points) == pytest.approx([done.x[0], done.x[1], 2 * done.x[2]], abs=1e-6)


def test_no_circle_goes_through_a_line() -> None:
    with pytest.raises(DataError) as caught:
        circle(np.array([[0.0, 0], [1, 1], [2, 2]]))
    assert caught.value.code == "photo.no-circle"


@pytest.mark.parametrize(
    ("kind", "count"), [("distance", 1), ("distance", 3), ("angle", 2), ("diameter", 2), ("area", 2)]
)
def test_wrong_number_of_picks_says_what_to_pick(kind: str, count: int) -> None:
    with pytest.raises(CallError, match=f"{kind} is given {count} picks"):
        measure(VIEW, kind, np.zeros((count, 2)), Pointing(0.5))


def test_unknown_kind() -> None:
    with pytest.raises(CallError, match="no measurement") as caught:
        measure(VIEW, "volume", np.zeros((2, 2)), Pointing(0.5))
    assert caught.value.code == "photo.unknown-kind"


def test_hole_pattern_gives_centres_sizes_and_distances() -> None:
    holes = [CAMERA.seen(rim(20, 20, 3)), CAMERA.seen(rim(50, 20, 3)), CAMERA.seen(np.array([[20.0, 60]]))]
    found = {one.name: one.value for one in measure_holes(VIEW, holes, Pointing(0.5))}
    assert found["hole 1 diameter"] == pytest.approx(3)
    assert "hole 3 diameter" not in found
    assert found["holes 1 to 2"] == pytest.approx(30)
    assert found["holes 2 to 3"] == pytest.approx(50)
    # the pattern's own frame: hole 1 is the origin, hole 2 lies on its x axis
    assert [found["hole 3 x"], found["hole 3 y"]] == pytest.approx([0, 40], abs=1e-9)


def test_hole_with_two_picks_is_refused() -> None:
    with pytest.raises(CallError, match="hole 2 has 2 picks"):
        measure_holes(VIEW, [np.zeros((1, 2)), np.zeros((2, 2))], Pointing(0.5))


@pytest.mark.parametrize(("height", "percent"), [(0.76, 0.254), (2.0, 0.671), (5.0, 1.695)])
def test_height_reads_long_by_h_over_z_minus_h(height: float, percent: float) -> None:
    """Off-plane scale error h / (Z - h) at Z = 300 mm, and none once the height is corrected."""
    ends = CAMERA.seen(np.array([[10.0, 10], [70, 50]]), height)
    (raw,) = measure(VIEW, "distance", ends, Pointing(0.5))
    centre = camera_over(LENS, (50.0, 40.0), 300.0, 0.0)
    (square,) = measure(
        View(fit_plane(centre.seen(FRAME), FRAME, sigma=0.5)),
        "distance",
        centre.seen(np.array([[10.0, 10], [70, 50]]), height),
        Pointing(0.5),
    )
    assert (square.value / math.hypot(60, 40) - 1) * 100 == pytest.approx(percent, abs=0.0006)
    pose = camera_pose(VIEW.plane, LENS)
    raised = View(VIEW.plane, None, Rise(height, 0.0, pose.height, 0.0, pose.foot))
    (mended,) = measure(raised, "distance", ends, Pointing(0.5))
    assert raw.value > math.hypot(60, 40)
    assert mended.value == pytest.approx(math.hypot(60, 40), rel=1e-6)


def test_pose_is_where_the_camera_stood() -> None:
    pose = camera_pose(VIEW.plane, LENS)
    assert pose.height == pytest.approx(-CAMERA.centre[2], rel=1e-6)
    assert pose.foot == pytest.approx(tuple(CAMERA.centre[:2]), rel=1e-6)
    assert pose.tilt == pytest.approx(25.0, abs=1e-4)


def test_unsure_height_is_kept_in_the_budget() -> None:
    view = View(VIEW.plane, None, Rise(2.0, 0.3, 300.0, 0.0))
    ends = CAMERA.seen(np.array([[10.0, 10], [70, 50]]), 2.0)
    (found,) = measure(view.with_sources(height_source(view, "")), "distance", ends, Pointing(0.0))
    # L (1 - h / Z): dL/dh = -L / Z on the plane of the scale
    assert found.u == pytest.approx(found.value / (1 - 2 / 300) * 0.3 / 300, rel=1e-6)


def test_relative_source_acts_on_lengths_once_and_on_areas_twice() -> None:
    view = VIEW.with_sources(relative_source(VIEW, "lens", 0.01, ""))
    (length,) = measure(view, "distance", CAMERA.seen(np.array([[10.0, 10], [70, 50]])), Pointing(0.0))
    size = measure(view, "area", CAMERA.seen(FRAME), Pointing(0.0))[0]
    assert length.u == pytest.approx(0.01 * length.value)
    assert size.u == pytest.approx(0.02 * size.value, rel=1e-3)
