"""`unfasten camera`: calibrate from rendered photos of the mat, then measure with the profile."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from tests.support.mat_photo import BENT, DISC, fresh_mat, jpeg_of, lens_of

from unfasten.photo.rendered import INK, camera_over, photograph

LENS = lens_of(1000, 750, 1000.0, BENT)


def unfasten(*args: object, **env: str) -> subprocess.CompletedProcess[str]:
    words = [str(arg) for arg in args]
    return subprocess.run(
        [sys.executable, "-m", "unfasten", *words],
        capture_output=True,
        text=True,
        check=False,
        env={**os.environ, **env},
    )


@pytest.fixture(scope="module")
def photos(tmp_path_factory: pytest.TempPathFactory) -> list[Path]:
    folder = tmp_path_factory.mktemp("photos")
    rng = np.random.default_rng(6)
    sheet = fresh_mat()
    sheet.disc(*DISC, INK)
    out = []
    for number in range(6):
        camera = camera_over(LENS, (148.5, 105.0), 380.0, 28.0, 60.0 * number, 90.0 * number)
        path = folder / f"mat-{number}.jpg"
        path.write_bytes(jpeg_of(photograph([sheet], camera, rng)))
        out.append(path)
    return out


def test_calibrate_then_measure_with_the_profile(photos: list[Path], tmp_path: Path) -> None:
    done = unfasten("camera", "calibrate", *photos, "--lenses", tmp_path, "--on", "2026-11-25", "--json")
    assert done.returncode == 0, done.stderr
    told = json.loads(done.stdout)
    assert told["camera"] == "Fellwright Tarn 11"
    assert told["numbers"]["fx"]["value"] == pytest.approx(1000, abs=5 * told["numbers"]["fx"]["u"] + 1)
    assert told["rms_px"] < 0.2
    listed = unfasten("camera", "list", "--lenses", tmp_path)
    assert "Fellwright Tarn 11, 6 mm, 1000 x 750 px: 6 photos" in listed.stdout
    measured = unfasten("measure", photos[0], "--kind", "parts", "--json", UNFASTEN_LENSES=str(tmp_path))
    assert measured.returncode == 0, measured.stderr
    table = json.loads(measured.stdout)
    assert table["lens"] == "fellwright-tarn-11-6-mm"
    assert not any("no lens profile" in note for note in table["notes"])
    assert table["parts"][0]["diameter"]["value"] == pytest.approx(20, abs=0.06)
    lines = {line["name"]: line["u"] for line in table["parts"][0]["diameter"]["budget"]}
    assert lines["lens"] < 0.05


def test_photos_of_another_focal_length_do_not_take_the_profile(photos: list[Path], tmp_path: Path) -> None:
    assert unfasten("camera", "calibrate", *photos, "--lenses", tmp_path).returncode == 0
    other = tmp_path / "other.jpg"
    picture = photograph([fresh_mat()], camera_over(LENS, (148.5, 105.0), 400.0), np.random.default_rng(1))
    other.write_bytes(jpeg_of(picture, focal=9.0))
    told = json.loads(unfasten("measure", other, "--picks", "400,400 500,400", "--lenses", tmp_path, "--json").stdout)
    assert told["lens"] is None
    assert any("no lens profile" in note for note in told["notes"])


def test_too_few_photos_is_status_1(photos: list[Path], tmp_path: Path) -> None:
    done = unfasten("camera", "calibrate", *photos[:2], "--lenses", tmp_path)
    assert done.returncode == 1
    assert "photo.few-photos" in done.stderr
    assert not list(tmp_path.iterdir())


def test_photos_of_two_cameras_are_a_wrong_call(photos: list[Path], tmp_path: Path) -> None:
    other = tmp_path / "other.jpg"
    picture = photograph([fresh_mat()], camera_over(LENS, (148.5, 105.0), 400.0), np.random.default_rng(1))
    other.write_bytes(jpeg_of(picture, model="Tarn 9"))
    done = unfasten("camera", "calibrate", *photos[:4], other, "--lenses", tmp_path / "lenses")
    assert done.returncode == 2
    assert "Fellwright Tarn 9" in done.stderr


def test_no_profile_says_how_to_make_one(tmp_path: Path) -> None:
    done = unfasten("camera", "list", "--lenses", tmp_path)
    assert done.returncode == 0
    assert "camera calibrate" in done.stdout
