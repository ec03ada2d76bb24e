"""Finding the mat: markers to a fraction of a pixel, and a word for every photo that has none to give."""

from __future__ import annotations

import numpy as np
import pytest
from tests.support.mat_photo import BENT, DISC, fresh_mat, lens_of, mat_photo

from unfasten.photo.facts import PhotoError
from unfasten.photo.markers import find_mat
from unfasten.photo.mat import mat_of
from unfasten.photo.plane import fit_plane
from unfasten.photo.rendered import BENCH, PAPER, camera_over, coded, photograph


@pytest.mark.parametrize("tilt", [0.0, 20.0, 40.0])
def test_corners_are_found_to_a_tenth_of_a_pixel(tilt: float) -> None:
    picture, camera = mat_photo(tilt, bend=BENT)
    seen = find_mat(picture)
    away = seen.px - camera.seen(seen.mm)
    assert len(seen.ids) >= 12
    assert float(np.sqrt(np.mean(away**2))) < 0.1
    assert np.abs(away.mean(0)).max() < 0.02


def test_residual_of_the_plane_tells_how_well_corners_were_found() -> None:
    picture, camera = mat_photo(30.0, bend=BENT)
    seen = find_mat(picture)
    truth = float(np.sqrt(np.mean((seen.px - camera.seen(seen.mm)) ** 2)))
    assert fit_plane(camera.lens.ideal(seen.px), seen.mm).sigma == pytest.approx(truth, rel=0.3)


def test_a_large_photo_is_searched_small_and_measured_large() -> None:
    picture, camera = mat_photo(20.0, 2400, 1800)
    seen = find_mat(picture)
    assert len(seen.ids) == 26
    assert float(np.sqrt(np.mean((seen.px - camera.seen(seen.mm)) ** 2))) < 0.1


def refused(picture: np.ndarray) -> str:
    with pytest.raises(PhotoError) as caught:
        find_mat(np.ascontiguousarray(picture), "bench.jpg")
    assert caught.value.where == "bench.jpg"
    return caught.value.code


def test_no_marker() -> None:
    empty = np.full((600, 800), 180, np.uint8)
    assert refused(empty) == "photo.no-marker"


def test_noise_is_no_marker() -> None:
    assert refused(np.random.default_rng(2).integers(0, 256, (600, 800)).astype(np.uint8)) == "photo.no-marker"


def test_mirrored_photo() -> None:
    picture, _ = mat_photo()
    assert refused(picture[:, ::-1]) == "photo.mirrored"
    assert refused(picture[::-1]) == "photo.mirrored"


def test_false_marker_is_left_out_by_its_place() -> None:
    picture, _ = mat_photo(0.0, 1600, 1200)
    seen = find_mat(picture)
    changed = picture.copy()
    x, y = seen.px[:4].min(0).astype(int) - 6
    x2, y2 = seen.px[:4].max(0).astype(int) + 6
    cut = picture[y:y2, x:x2].copy()
    changed[y:y2, x:x2] = 230
    changed[600 : 600 + y2 - y, 700 : 700 + x2 - x] = cut
    found = find_mat(changed)
    assert seen.ids[0] not in found.ids
    assert len(found.ids) == len(seen.ids) - 1


def test_turned_photo_is_no_mirrored_one() -> None:
    picture, _ = mat_photo()
    assert len(find_mat(np.ascontiguousarray(np.rot90(picture))).ids) >= 24


def test_half_a_marker() -> None:
    picture, camera = mat_photo(0.0, 1600, 1200)
    box = mat_of("A4").markers[4]
    middle = camera.seen(np.array([[box.x + box.width / 2, box.y + box.height / 2]]))[0].round().astype(int)
    cut = picture[middle[1] - 120 : middle[1] + 120, middle[0] : middle[0] + 110]
    assert refused(cut) == "photo.cut-marker"


def test_one_marker_is_too_few() -> None:
    picture, camera = mat_photo(0.0, 1600, 1200)
    box = mat_of("A4").markers[4]
    middle = camera.seen(np.array([[box.x + box.width / 2, box.y + box.height / 2]]))[0].round().astype(int)
    part = picture[middle[1] - 60 : middle[1] + 60, middle[0] - 60 : middle[0] + 60]
    assert refused(part) == "photo.few-markers"


def test_two_mats_of_one_size() -> None:
    picture, _ = mat_photo(0.0)
    assert refused(np.hstack([picture, picture])) == "photo.two-mats"


def test_two_mats_of_different_sizes() -> None:
    rng = np.random.default_rng(1)
    camera = camera_over(lens_of(1200, 900, 1200), (140.0, 108.0), 400.0)
    other = photograph([fresh_mat("letter")], camera, rng)
    picture, _ = mat_photo(0.0)
    assert refused(np.hstack([picture, other])) == "photo.two-mats"


def test_disc_of_the_photo_is_where_it_was_drawn() -> None:
    """The renderer itself: light at the middle of the disc is ink, beside it paper."""
    picture, camera = mat_photo(30.0)
    (x, y), diameter = DISC
    inside, outside = camera.seen(np.array([[x, y], [x + diameter * 0.8, y]])).round().astype(int)
    assert picture[inside[1], inside[0]] < 80
    assert picture[outside[1], outside[0]] == pytest.approx(float(coded(np.array([PAPER], np.float32))[0]), abs=12)
    assert picture[2, 2] == pytest.approx(float(coded(np.array([BENCH], np.float32))[0]), abs=12)
