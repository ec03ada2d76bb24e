"""A mat photographed off a screen is told by the grid on its bare paper; print and JPEG are not taken for one."""

from __future__ import annotations

import cv2
import numpy as np
import pytest
from tests.support.mat_photo import mat_photo

from unfasten.photo.mat import mat_of
from unfasten.photo.rendered import Sheet, mat_sheet, photograph
from unfasten.photo.screen import has_grid

FIELD = np.array(mat_of("A4").field.corners)


@pytest.mark.parametrize("tilt", [0.0, 25.0])
def test_print_is_no_screen(tilt: float) -> None:
    picture, camera = mat_photo(tilt, 2000, 1500)
    corners = camera.seen(FIELD)
    assert not has_grid(picture, corners)
    _, coded = cv2.imencode(".jpg", picture, [cv2.IMWRITE_JPEG_QUALITY, 85])
    assert not has_grid(cv2.imdecode(coded, cv2.IMREAD_GRAYSCALE), corners)


@pytest.mark.parametrize("pitch", [0.22, 0.3])
def test_screen_is_told(pitch: float) -> None:
    _, camera = mat_photo(25.0, 2000, 1500)
    base = mat_sheet(mat_of("A4"), 20.0)
    height, width = base.light.shape
    y, x = np.arange(height)[:, None] / 20.0, np.arange(width)[None, :] / 20.0
    gaps = (np.sin(2 * np.pi * x / pitch) > 0.4) | (np.sin(2 * np.pi * y / pitch) > 0.4)
    screen = Sheet((base.light * np.where(gaps, 0.75, 1.0)).astype(np.float32), 20.0)
    assert has_grid(photograph([screen], camera, np.random.default_rng(1)), camera.seen(FIELD))


def test_field_without_bare_paper_is_not_judged() -> None:
    """In a small photo every patch holds markers, and those have sharp edges of their own."""
    picture, camera = mat_photo(0.0, 400, 300)
    assert not has_grid(picture, camera.seen(FIELD))
