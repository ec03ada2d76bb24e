"""Calibration from rendered photos of the mat: the true lens within its stated uncertainty; profiles as files."""

from __future__ import annotations

from datetime import date

import numpy as np
import pytest
from tests.support.mat_photo import BENT, fresh_mat, lens_of

from unfasten.evidence.errors import DataError
from unfasten.photo.calibrate import Calibration, calibrate, said
from unfasten.photo.facts import PhotoError
from unfasten.photo.lens import Lens
from unfasten.photo.lensfile import profile_of, read_profile, to_text
from unfasten.photo.markers import find_mat
from unfasten.photo.rendered import camera_over, photograph

TRUE = lens_of(1000, 750, 1000.0, BENT)


@pytest.fixture(scope="module")
def views() -> list[tuple[np.ndarray, np.ndarray]]:
    rng = np.random.default_rng(4)
    sheet = fresh_mat()
    out = []
    for tilt, towards, spin in (
        (5, 0, 0),
        (25, 20, 90),
        (30, 110, 10),
        (30, 200, 180),
        (35, 290, 0),
        (20, 70, 270),
        (35, 160, 45),
    ):
        camera = camera_over(TRUE, (148.5, 105.0), 380.0, tilt, towards, spin)
        seen = find_mat(photograph([sheet], camera, rng))
        out.append((seen.px, seen.mm))
    return out


@pytest.fixture(scope="module")
def found(views: list[tuple[np.ndarray, np.ndarray]]) -> Calibration:
    return calibrate(views, 1000, 750)


def test_true_lens_lies_within_the_stated_uncertainty(found: Calibration) -> None:
    assert found.rms < 0.1
    assert found.lens.cov is not None
    away = np.subtract(found.lens.numbers, TRUE.numbers)
    assert found.u_focal < 0.002
    # squared distance in units of the covariance: 9 degrees of freedom, 99.9 % below 27.9
    assert away @ np.linalg.solve(found.lens.cov, away) < 27.9


def test_corrected_points_are_those_of_the_true_lens(found: Calibration) -> None:
    points = np.array([[x, y] for x in np.linspace(60, 940, 9) for y in np.linspace(60, 690, 7)])
    assert found.lens.seen(TRUE.ideal(points)) == pytest.approx(points, abs=0.4)


def test_every_number_has_its_uncertainty(found: Calibration) -> None:
    told = said(found.lens)
    assert list(told) == ["fx", "fy", "cx", "cy", "k1", "k2", "p1", "p2", "k3"]
    assert all(u is not None and u > 0 for _, u in told.values())


def test_too_few_photos(views: list[tuple[np.ndarray, np.ndarray]]) -> None:
    with pytest.raises(PhotoError, match="3 photos are too few") as caught:
        calibrate(views[:3], 1000, 750)
    assert caught.value.code == "photo.few-photos"


def test_photos_from_one_side_do_not_tell_the_focal_length(views: list[tuple[np.ndarray, np.ndarray]]) -> None:
    rng = np.random.default_rng(5)
    camera = camera_over(TRUE, (148.5, 105.0), 380.0, 0.5)
    _, mm = views[0]
    same = [(camera.seen(mm) + rng.normal(0, 0.3, mm.shape), mm) for _ in range(5)]
    with pytest.raises(PhotoError, match="focal length only to") as caught:
        calibrate(same, 1000, 750)
    assert caught.value.code == "photo.weak-calibration"


def test_profile_reads_back_equal(found: Calibration) -> None:
    profile = profile_of(found.lens, "Fellwright Tarn 11", 6.0, found.rms, 7, date(2026, 11, 25))
    again = read_profile(to_text(profile).encode(), "tarn.lens.yaml")
    assert again == profile
    assert again.name == "fellwright-tarn-11-6-mm"
    assert again.lens.numbers == found.lens.numbers
    assert np.array_equal(again.lens.cov, found.lens.cov)  # type: ignore[arg-type]


def test_profile_follows_the_way_the_camera_is_held(found: Calibration) -> None:
    profile = profile_of(found.lens, "Fellwright Tarn 11", 6.0, 0.1, 7, date(2026, 11, 25), orientation=6)
    same = profile.lens_at(6)
    assert same is not None
    assert same.numbers == profile.lens.numbers
    sensor = profile.lens_at(1)
    assert sensor is not None
    assert (sensor.width, sensor.height) == (profile.height, profile.width)
    assert profile.lens_at(2) is None


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("format: unfasten-lens/1", "format: unfasten-lens/9", "format"),
        ("focal_length: 6.0", "focal_length: -6.0", "focal_length"),
        ("k1:", "k9:", "the lens has fx, fy"),
        ("rms:", "blur: 1\nrms:", "blur"),
        ("camera: Fellwright Tarn 11", "camera: ''", "camera"),
    ],
)
def test_damaged_profile_says_what_is_wrong(found: Calibration, old: str, new: str, says: str) -> None:
    text = to_text(profile_of(found.lens, "Fellwright Tarn 11", 6.0, 0.1, 7, date(2026, 11, 25)))
    with pytest.raises(DataError, match=says) as caught:
        read_profile(text.replace(old, new).encode(), "tarn.lens.yaml")
    assert caught.value.code == "photo.lens-file"


def test_covariance_must_be_one() -> None:
    lens = Lens(100, 100, (90.0, 90.0, 50.0, 50.0, 0.0, 0.0, 0.0, 0.0, 0.0), -np.eye(9))
    text = to_text(profile_of(lens, "Fellwright Tarn 11", 6.0, 0.1, 7, date(2026, 11, 25)))
    with pytest.raises(DataError, match="variance is negative"):
        read_profile(text.encode(), "tarn.lens.yaml")
