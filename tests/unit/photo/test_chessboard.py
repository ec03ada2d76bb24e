"""Real photographs with known size: the chessboard photos of the documentation package, squares of 25 mm.

Corrected lengths are within 0.2 %; uncorrected ones are flagged, and their widened interval still holds the truth.
"""

from __future__ import annotations

import math
import os
from pathlib import Path

import cv2
import numpy as np
import pytest
from tests.conftest import missing

from unfasten.photo.calibrate import Calibration, calibrate
from unfasten.photo.measure import Pointing, measure
from unfasten.photo.scale import Object, Optics, Scaled, rectangle, scaled

ROWS, COLUMNS, SQUARE = 6, 9, 25.0
#: from the second to the last but one corner of both rows and columns
DIAGONAL = SQUARE * math.hypot(COLUMNS - 3, ROWS - 3)
MM = np.array([[x * SQUARE, y * SQUARE] for y in range(ROWS) for x in range(COLUMNS)], float)
#: what the reference program gave for the same photos with its newer release
REFERENCE = {"fx": 532.83, "fy": 532.95, "cx": 342.49, "cy": 233.86, "k1": -0.2809}


@pytest.fixture(scope="module")
def boards() -> dict[str, np.ndarray]:
    """Corners in every photo [px]."""
    folder = Path(os.environ.get("UNFASTEN_OPENCV_DOC", "/usr/share/doc/opencv-doc"))
    photos = sorted(folder.rglob("left[0-9][0-9].jpg"))
    if not photos:
        missing("no chessboard photos: install the package opencv-doc, or name its folder in UNFASTEN_OPENCV_DOC")
    found = {}
    for path in photos:
        grey = cv2.imread(str(path), cv2.IMREAD_GRAYSCALE)
        whole, corners = cv2.findChessboardCorners(grey, (COLUMNS, ROWS))
        assert whole, path.name
        criteria = (cv2.TERM_CRITERIA_EPS + cv2.TERM_CRITERIA_MAX_ITER, 40, 1e-4)
        found[path.name] = cv2.cornerSubPix(grey, corners, (5, 5), (-1, -1), criteria).reshape(-1, 2).astype(float)
    return found


@pytest.fixture(scope="module")
def lens(boards: dict[str, np.ndarray]) -> Calibration:
    return calibrate([(px, MM) for px in boards.values()], 640, 480)


def board_scale(px: np.ndarray, optics: Optics) -> Scaled:
    """The scale from the four outer corners alone."""
    outer = px[[0, COLUMNS - 1, ROWS * COLUMNS - 1, (ROWS - 1) * COLUMNS]]
    sides = ((COLUMNS - 1) * SQUARE, 0.02), ((ROWS - 1) * SQUARE, 0.02)
    return scaled(rectangle(outer, *sides, 0.2, 0.25), optics, Object())


def ends(px: np.ndarray) -> np.ndarray:
    return px[[COLUMNS + 1, (ROWS - 2) * COLUMNS + COLUMNS - 2]]


def test_thirteen_photos_of_the_same_board(boards: dict[str, np.ndarray]) -> None:
    assert len(boards) == 13
    assert pytest.approx(167.705, abs=0.001) == DIAGONAL


def test_calibration_agrees_with_the_reference_run(lens: Calibration) -> None:
    got = dict(zip(("fx", "fy", "cx", "cy", "k1"), lens.lens.numbers, strict=False))
    assert got == pytest.approx(REFERENCE, rel=0.005)
    assert lens.rms * math.sqrt(2) == pytest.approx(0.1954, abs=0.03)


def test_corrected_lengths_are_within_a_fifth_of_a_percent(boards: dict[str, np.ndarray], lens: Calibration) -> None:
    for name, px in boards.items():
        view = board_scale(px, Optics(640, 480, lens.lens)).view
        (found,) = measure(view, "distance", ends(px), Pointing(0.2))
        assert found.value == pytest.approx(DIAGONAL, rel=0.002), name
        assert found.holds(DIAGONAL), name


def test_uncorrected_lengths_read_long_and_say_so(boards: dict[str, np.ndarray]) -> None:
    errors = []
    for name, px in boards.items():
        scale = board_scale(px, Optics(640, 480))
        (found,) = measure(scale.view, "distance", ends(px), Pointing(0.2))
        errors.append(found.value / DIAGONAL - 1)
        assert any("no lens profile" in note for note in scale.notes)
        assert {part.name for part in found.budget.components} >= {"lens"}
        assert found.holds(DIAGONAL), name
    assert min(errors) > 0.012
    assert max(errors) < 0.025
