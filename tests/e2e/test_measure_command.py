"""`unfasten mat` and `unfasten measure` as a person runs them."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import numpy as np
import pypdfium2
import pytest
from tests.support.mat_photo import jpeg_of, mat_photo, png_of


def unfasten(*args: object) -> subprocess.CompletedProcess[str]:
    words = [str(arg) for arg in args]
    return subprocess.run([sys.executable, "-m", "unfasten", *words], capture_output=True, text=True, check=False)


def words(points: np.ndarray) -> str:
    return " ".join(f"{x:.2f},{y:.2f}" for x, y in points)


@pytest.fixture(scope="module")
def photo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("photos") / "bench.jpg"
    path.write_bytes(jpeg_of(mat_photo()[0]))
    return path


def test_mat_is_written_for_every_size(tmp_path: Path) -> None:
    for size in ("A4", "a3", "letter"):
        out = tmp_path / f"{size}.pdf"
        done = unfasten("mat", "--size", size, "-o", out, "--on", "2026-11-25", "--json")
        assert done.returncode == 0, done.stderr
        assert json.loads(done.stdout)["check_line_mm"] == 100
        assert len(pypdfium2.PdfDocument(out)) == 1


def test_unknown_size_is_a_wrong_call(tmp_path: Path) -> None:
    done = unfasten("mat", "--size", "A5", "-o", tmp_path / "x.pdf")
    assert done.returncode == 2
    assert "name one of A4, A3, letter" in done.stderr


def test_distance_with_interval(photo: Path) -> None:
    _, camera = mat_photo()
    picks = words(camera.seen(np.array([[90.0, 80], [110, 80]])))
    done = unfasten("measure", photo, "--picks", picks, "--height", "0 ± 0.05 mm", "--json")
    assert done.returncode == 0, done.stderr
    (reading,) = json.loads(done.stdout)["readings"]
    assert reading["interval"]["low"] < 20 < reading["interval"]["high"]
    assert {line["name"] for line in reading["budget"]} >= {"pointing", "scale fit", "lens", "height"}


def test_every_hole_has_its_own_picks(photo: Path) -> None:
    _, camera = mat_photo()
    turn = np.linspace(0, 5, 4)
    rim = 2 * np.column_stack([np.cos(turn), np.sin(turn)])
    first, second = (words(camera.seen(np.array(at) + rim)) for at in ((60.0, 60.0), (90.0, 60.0)))
    done = unfasten("measure", photo, "--kind", "holes", "--picks", first, "--picks", second, "--json")
    assert done.returncode == 0, done.stderr
    found = {reading["name"]: reading["value"] for reading in json.loads(done.stdout)["readings"]}
    assert found["holes 1 to 2"] == pytest.approx(30, abs=0.1)
    assert found["hole 2 diameter"] == pytest.approx(4, abs=0.1)


def test_plain_text_has_value_uncertainty_and_notes(photo: Path) -> None:
    _, camera = mat_photo()
    done = unfasten("measure", photo, "--picks", words(camera.seen(np.array([[90.0, 80], [110, 80]]))))
    assert done.returncode == 0
    assert "±" in done.stdout
    assert "95 % interval" in done.stdout
    assert "budget of distance" in done.stdout
    assert "note: no lens profile" in done.stderr


def test_photo_without_marker_is_status_1(tmp_path: Path) -> None:
    path = tmp_path / "empty.png"
    path.write_bytes(png_of(np.full((300, 400), 200, np.uint8)))
    done = unfasten("measure", path, "--picks", "1,1 50,50")
    assert done.returncode == 1
    assert "photo.no-marker" in done.stderr


def test_option_of_another_scale_is_a_wrong_call(photo: Path) -> None:
    done = unfasten("measure", photo, "--picks", "1,1 50,50", "--length", "10 ± 1 mm")
    assert done.returncode == 2
    assert "--length does not go with --scale mat" in done.stderr


def test_unreadable_picks_are_a_wrong_call(photo: Path) -> None:
    done = unfasten("measure", photo, "--picks", "1,1 here")
    assert done.returncode == 2
    assert "'here' is not x,y" in done.stderr


RECORD = """format: unfasten-record/1
product: {id: tarn-11, name: Tarn 11, maker: Fellwright, category: slate-tablet}
parts: {frame: {name: Midframe, stays: true}, dial: {name: Dial}}
joints: {dial-screw: {kind: screw, holds: [dial, frame], ways: [{}]}}
"""


def test_parts_on_the_mat_go_into_a_record_and_are_made_again(photo: Path, tmp_path: Path) -> None:
    record = tmp_path / "tarn.yaml"
    record.write_text(RECORD, "utf-8")
    done = unfasten("measure", photo, "--kind", "parts", "--into", record, "--of", "A=dial")
    assert done.returncode == 0, done.stderr
    assert "entered in" in done.stdout
    assert unfasten("check", record).returncode == 0
    again = unfasten("measure", photo, "--rerun", record, "--json")
    assert again.returncode == 0, again.stderr
    told = json.loads(again.stdout)["measurements"]
    assert [one["name"] for one in told] == ["length", "width", "area"]
    assert all(one["same"] for one in told)
    record.write_text(
        record.read_text("utf-8").replace(
            "name: length, of: dial, letter: A, value: ", "name: length, of: dial, letter: A, value: 1"
        ),
        "utf-8",
    )
    assert unfasten("measure", photo, "--rerun", record).returncode == 1


def test_without_the_vision_library_the_line_that_installs_it_is_said(photo: Path) -> None:
    lines = ["import sys", "sys.modules['cv2'] = None", "sys.argv = ['unfasten', *sys.argv[1:]]"]
    code = "; ".join([*lines, "from unfasten.cli.main import main", "main()"])
    done = subprocess.run(
        [sys.executable, "-c", code, "measure", str(photo), "--picks", "1,1 5,5"],
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 2
    assert 'pip install "unfasten[photo]"' in done.stderr
