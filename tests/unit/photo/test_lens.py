"""The lens: ideal points and back, agreement with OpenCV, resizing."""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from unfasten.photo.lens import Lens, focal_px, pinhole

LENS = Lens(640, 480, (533.0, 534.0, 342.0, 234.0, -0.28, 0.025, 0.0012, -0.0001, 0.16), np.diag([1.0] * 9))


def grid(width: int, height: int) -> np.ndarray:
    return np.array([[x, y] for x in np.linspace(0, width - 1, 9) for y in np.linspace(0, height - 1, 7)])


def test_ideal_and_seen_undo_each_other() -> None:
    points = grid(640, 480)
    assert LENS.seen(LENS.ideal(points)) == pytest.approx(points, abs=1e-6)


def test_distortion_is_that_of_opencv() -> None:
    points = np.column_stack([(grid(640, 480) - [342, 234]) / [533, 534], np.ones(63)])
    theirs, _ = cv2.projectPoints(points, np.zeros(3), np.zeros(3), LENS.matrix, np.array(LENS.numbers[4:]))
    assert LENS.seen(grid(640, 480)) == pytest.approx(theirs.reshape(-1, 2), abs=1e-9)


def test_focal_length_goes_by_the_diagonal() -> None:
    """CIPA DCG-001: 26 mm on 4032 x 3024 px; the width alone would give 2912 px."""
    assert focal_px(26, 4032, 3024) == pytest.approx(3028.7, abs=0.05)


def test_resized_lens_bends_the_same_picture() -> None:
    points = grid(640, 480)
    small = LENS.resized(320, 240)
    assert small.seen((points + 0.5) / 2 - 0.5) == pytest.approx((LENS.seen(points) + 0.5) / 2 - 0.5, abs=1e-9)
    assert small.cov is not None
    assert np.diag(small.cov)[:5] == pytest.approx([0.25, 0.25, 0.25, 0.25, 1.0])


def test_another_shape_is_no_other_size() -> None:
    with pytest.raises(ValueError, match="no other size"):
        LENS.resized(640, 360)


@pytest.mark.parametrize("quarters", [1, 2, 3, 4, -1])
def test_turned_lens_bends_the_turned_picture(quarters: int) -> None:
    ideal = grid(640, 480)
    turned = LENS.turned(quarters)

    def turn(points: np.ndarray) -> np.ndarray:
        width, height = 640, 480
        for _ in range(quarters % 4):
            points = np.column_stack([height - 1 - points[:, 1], points[:, 0]])
            width, height = height, width
        return points

    assert (turned.width, turned.height) == ((640, 480) if quarters % 2 == 0 else (480, 640))
    assert turned.seen(turn(ideal)) == pytest.approx(turn(LENS.seen(ideal)), abs=1e-9)
    assert turned.cov is not None
    assert np.linalg.det(turned.cov) == pytest.approx(1.0)


def test_one_sigma_steps_make_up_the_covariance() -> None:
    assert LENS.directions().T @ LENS.directions() == pytest.approx(LENS.cov)
    assert len(pinhole(640, 480, 500.0).directions()) == 0
