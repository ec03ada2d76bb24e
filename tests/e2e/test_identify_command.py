"""`unfasten identify` by subprocess: status, streams, text and JSON."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from tests.support.marking_pictures import package_picture
from tests.support.mat_photo import jpeg_of, mat_photo
from tests.support.patience import PATIENCE_S
from tests.support.photo_files import jpeg


def identify(*arguments: str) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-c", "from unfasten.cli.main import main; main()", "identify", *arguments]
    return subprocess.run(command, capture_output=True, text=True, encoding="utf-8", timeout=PATIENCE_S, check=False)


def answer(*arguments: str) -> dict[str, Any]:
    done = identify(*arguments, "--json")
    assert (done.returncode, done.stderr) == (0, "")
    found: dict[str, Any] = json.loads(done.stdout)
    return found


def test_thread() -> None:
    lengths = ("--diameter", "1.58 ± 0.02 mm", "--pitch", "0.35 ± 0.01 mm")
    found = answer("thread", *lengths)
    assert [thread["name"] for thread in found["candidates"]] == ["M1.6", "M1.7"]
    assert found["apart"][0]["between"] == ["M1.6", "M1.7"]
    text = identify("thread", *lengths).stdout
    assert "several threads fit; none is chosen" in text
    turns = answer("thread", "--diameter", "1.54 ± 0.02 mm", "--length", "3.5 ± 0.05 mm", "--turns", "10")
    assert turns["pitch_mm"] == {"value": pytest.approx(0.35), "u": pytest.approx(0.005)}


def test_naming_by_a_table_needs_no_arrays() -> None:
    code = (
        "import sys\nfrom unfasten.cli.main import cli\n"
        "cli(['identify', 'thread', '--diameter', '1.58 ± 0.02 mm'], standalone_mode=False)\n"
        "print(sorted({'numpy', 'cv2', 'scipy', 'PIL', 'rapidocr', 'pydantic'} & set(sys.modules)))\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, encoding="utf-8", check=True)
    assert done.stdout.splitlines()[-1] == "[]"


def test_drive() -> None:
    found = answer("drive", "--across-points", "1.74 ± 0.01 mm", "--shape", "hexalobular")
    assert [drive["name"] for drive in found["candidates"]] == ["hexalobular 6"]
    both = answer("drive", "--thread", "M3", "--shape", "cross")
    assert {drive["size"] for drive in both["candidates"]} == {1, 2}
    five = identify("drive", "--lobes", "5", "--pin")
    assert five.returncode == 0
    assert five.stdout.startswith("5 lobes, with a pin in the middle")


def test_package_and_date_code() -> None:
    found = answer("package", "--size", "11.52 x 13.01 ± 0.05 mm")
    assert [package["name"] for package in found["candidates"]] == ["BGA-153"]
    code = answer("date-code", "2615", "--made-before", "2026-11-25")
    assert code["readings"] == [{"year": 2026, "week": 15, "from": "2026-04-06", "to": "2026-04-12", "reason": None}]
    text = identify("date-code", "2553", "--made-before", "2026-11-25").stdout
    assert "not 2025: 2025 has 52 weeks" in text


def test_marking(tmp_path: Path) -> None:
    photo, parts, crop = tmp_path / "m.jpg", tmp_path / "parts.yaml", tmp_path / "crop.jpg"
    photo.write_bytes(package_picture(("FELLWRIGHT", "FW8G128A"), 5))
    parts.write_text(
        "format: unfasten-markings/1\nparts: {flash: {name: Flash memory, markings: [FW8G128A]}}\n", encoding="utf-8"
    )
    found = answer("marking", str(photo), "--parts", str(parts), "--crop", str(crop))
    assert [line["text"] for line in found["lines"]] == ["FELLWRIGHT", "FW8G128A"]
    assert found["confirmed"] is False
    assert found["candidates"][0]["similarity_percent"] == 100
    assert crop.read_bytes().startswith(b"\xff\xd8")
    kept = answer("marking", str(photo), "--parts", str(parts), "--confirm", "FW8G128A", "--as", "flash", "--by", "Ada")
    assert (kept["read"], kept["confirmed"]) == (["FELLWRIGHT", "FW8G128A"], ["FW8G128A"])
    assert (kept["part"], kept["by"], kept["photo"]) == ("flash", "Ada", found["photo"])
    nobody = identify("marking", str(photo), "--confirm", "FW8G128A")
    assert nobody.returncode == 2
    assert "identify.not-confirmed" in nobody.stderr


def test_board(tmp_path: Path) -> None:
    path = tmp_path / "board.yaml"
    path.write_text(
        "format: unfasten-board/1\n"
        "sides:\n"
        "  front: {board: {size: 60 x 30 ± 0.05 mm}, bodies: {logic: {size: 14 x 14 ± 0.03 mm}}}\n"
        "  back: {board: {size: 60 x 30 ± 0.05 mm}, bodies: {}}\n",
        encoding="utf-8",
    )
    found = answer("board", str(path))
    assert found["sides"][0]["use_percent"]["value"] == pytest.approx(100 * 196 / 1800)
    assert found["both_over_both_sides_percent"]["value"] == pytest.approx(100 * 196 / 3600)
    assert "use" in identify("board", str(path)).stdout


def test_board_on_a_photo(tmp_path: Path) -> None:
    picture, camera = mat_photo()
    photo, picks = tmp_path / "side.jpg", tmp_path / "picks.json"
    photo.write_bytes(jpeg_of(picture))
    board, body = ([[70, 60], [130, 60], [130, 90], [70, 90]], [[75, 65], [89, 65], [89, 79], [75, 79]])
    seen = {
        name: camera.seen(np.array(corners, float)).tolist() for name, corners in (("board", board), ("logic", body))
    }
    picks.write_text(json.dumps({"board": seen["board"], "bodies": {"logic": seen["logic"]}}), encoding="utf-8")
    found = answer("board", str(picks), "--photo", str(photo), "--lenses", str(tmp_path))
    use = next(reading for reading in found["readings"] if reading["name"] == "use")
    assert use["interval"]["low"] < 100 * 196 / 1800 < use["interval"]["high"]
    assert "use" in identify("board", str(picks), "--photo", str(photo), "--lenses", str(tmp_path)).stdout


@pytest.mark.parametrize(
    ("arguments", "status", "code"),
    [
        (("thread", "--diameter", "1.58 mm"), 2, "identify.no-uncertainty"),
        (("thread", "--diameter", "wide"), 2, "identify.no-length"),
        (("thread", "--diameter", "1 ± 0.1 mm", "--turns", "3"), 2, "identify.pitch-twice"),
        (("package", "--size", "12 mm"), 2, "identify.no-size"),
        (("drive",), 2, "give --across-points"),
        (("date-code",), 2, "Missing argument"),
        (("marking", __file__, "--by", "Ada"), 2, "belong to --confirm"),
        (("board", __file__, "--lenses", "."), 2, "belongs to --photo"),
        (("marking", "nothing.jpg"), 2, "does not exist"),
    ],
)
def test_wrong_calls(arguments: tuple[str, ...], status: int, code: str) -> None:
    done = identify(*arguments)
    assert (done.returncode, done.stdout) == (status, "")
    assert code in done.stderr
    assert "Traceback" not in done.stderr


def test_wrong_photographs_and_files(tmp_path: Path) -> None:
    cut, board = tmp_path / "cut.jpg", tmp_path / "board.yaml"
    cut.write_bytes(jpeg()[:-400])
    board.write_text("format: unfasten-board/1\nsides: {front: {board: {}, bodies: {}}}\n", encoding="utf-8")
    for arguments, code in (
        (("marking", str(cut)), "photo.truncated"),
        (("board", str(board)), "data.missing-key"),
    ):
        done = identify(*arguments)
        assert (done.returncode, done.stdout) == (1, "")
        assert code in done.stderr
        assert "Traceback" not in done.stderr
