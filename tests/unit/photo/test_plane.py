"""The plane: known homographies, agreement with two libraries, and covariance against a simulation."""

from __future__ import annotations

import math

import cv2
import numpy as np
import pytest
import skimage.transform

from unfasten.evidence.errors import DataError
from unfasten.photo.lens import pinhole
from unfasten.photo.measure import Pointing, measure
from unfasten.photo.plane import fit_plane, project
from unfasten.photo.rendered import camera_over
from unfasten.photo.view import View, fit_source

CARD = np.array([[0, 0], [85.6, 0], [85.6, 53.98], [0, 53.98]])
SEEN = np.array([[100.0, 100], [500, 120], [480, 380], [90, 350]])


def test_agrees_with_opencv_and_scikit_image() -> None:
    rng = np.random.default_rng(7)
    mm = rng.uniform(0, 100, (30, 2))
    px = project(np.array([[5, 0.3, 40], [-0.2, 4.6, 30], [3e-4, -2e-4, 1]]), mm) + rng.normal(0, 0.3, (30, 2))
    ours = fit_plane(px, mm)
    # all three minimise the distance in the photo: mm -> px
    theirs, _ = cv2.findHomography(mm, px, 0)
    assert project(np.linalg.inv(ours.px_mm), mm) == pytest.approx(project(theirs, mm), abs=2e-4)
    exact = skimage.transform.ProjectiveTransform.from_estimate(SEEN, CARD)
    assert fit_plane(SEEN, CARD, sigma=0.5).px_mm == pytest.approx(
        exact.params / exact.params[2, 2], rel=1e-9, abs=1e-12
    )


def test_residual_tells_the_noise_of_the_points() -> None:
    rng = np.random.default_rng(3)
    mm = np.array([[x, y] for x in range(0, 200, 20) for y in range(0, 100, 20)], float)
    px = project(np.array([[5, 0.3, 40], [-0.2, 4.6, 30], [3e-4, -2e-4, 1]]), mm) + rng.normal(0, 0.4, mm.shape)
    plane = fit_plane(px, mm)
    assert plane.dof == 2 * len(mm) - 8
    assert plane.sigma == pytest.approx(0.4, rel=0.25)


@pytest.mark.parametrize(("tilt", "stated"), [(0, 0.083), (20, 0.085), (40, 0.090)])
def test_card_uncertainty_is_what_a_simulation_of_20000_gave(tilt: float, stated: float) -> None:
    """Card at the middle, f 3028.66 px, 300 mm away, 0.5 px everywhere; 67.08 mm inside the card."""
    camera = camera_over(pinhole(4032, 3024, 3028.66), (42.8, 26.99), 300, tilt, 0)
    plane = fit_plane(camera.seen(CARD), CARD, sigma=0.5)
    view = View(plane)
    ends = np.array([[12.8, 11.99], [72.8, 41.99]])
    (reading,) = measure(view.with_sources(fit_source(view, "")), "distance", camera.seen(ends), Pointing(0.5))
    assert reading.value == pytest.approx(math.hypot(60, 30))
    assert reading.u == pytest.approx(stated, rel=0.05)


def test_covariance_is_what_repeated_noise_gives() -> None:
    rng = np.random.default_rng(11)
    camera = camera_over(pinhole(1200, 900, 1200), (42.8, 26.99), 200, 30, 20)
    far = camera.seen(np.array([[120.0, 10], [180, 60]]))
    clean = camera.seen(CARD)
    plane = fit_plane(clean, CARD, sigma=0.3)
    view = View(plane)
    (stated,) = measure(view.with_sources(fit_source(view, "")), "distance", far, Pointing(0.0))
    values = [
        float(
            np.linalg.norm(
                np.diff(fit_plane(clean + rng.normal(0, 0.3, clean.shape), CARD, sigma=0.3).to_mm(far), axis=0)
            )
        )
        for _ in range(1500)
    ]
    assert stated.u == pytest.approx(float(np.std(values)), rel=0.07)


def test_three_points_on_a_line_hold_no_plane() -> None:
    with pytest.raises(DataError, match="on a line") as caught:
        fit_plane(np.array([[0.0, 0], [10, 10], [20, 20], [0, 30]]), CARD, sigma=0.5)
    assert caught.value.code == "photo.points-in-line"


def test_points_all_on_a_line_hold_no_plane() -> None:
    line = np.column_stack([np.arange(6.0), np.arange(6.0)])
    with pytest.raises(DataError, match="on a line"):
        fit_plane(line, line * 2, sigma=0.5)
