"""Measurements in a record: entered with their layout kept, made again from the photo, refused where unfit."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from tests.support.mat_photo import mat_photo, png_of, round_picks

from unfasten.evidence.errors import CallError, DataError
from unfasten.photo.open import open_photo
from unfasten.service.load import load_record
from unfasten.service.measure import measure_photo
from unfasten.service.measurekeep import again, keep

RECORD = """# bench notes of the second day
format: unfasten-record/1
product: {id: tarn-11, name: Tarn 11, maker: Fellwright, category: slate-tablet}
parts:
  frame: {name: Midframe, stays: true}
  dial:  {name: Dial}          # the round one
joints:
  dial-screw: {kind: screw, holds: [dial, frame], ways: [{}]}
"""


@pytest.fixture
def record(tmp_path: Path) -> Path:
    path = tmp_path / "tarn.yaml"
    path.write_text(RECORD, "utf-8")
    return path


def photo() -> bytes:
    return png_of(mat_photo()[0])


def distance(**more: Any) -> Any:
    _, camera = mat_photo()
    picks = round_picks(camera.seen(np.array([[90.0, 80], [110, 80]])))
    return measure_photo(photo(), "bench.png", {"kind": "distance", "readings": [picks], **more})


def test_a_figure_is_entered_with_photo_and_recipe(record: Path) -> None:
    done = distance()
    assert keep(record, done, {"": "dial"}, "outer diameter") == ("m-001",)
    held = load_record(record).measurements["m-001"]
    assert held.of == "dial"
    assert held.name == "outer diameter"
    assert str(held.value) == done.readings[0].text
    assert held.file == done.photo.sha256
    assert held.interval is not None
    assert held.interval[0].value < 20 < held.interval[1].value


def test_comments_and_layout_stay_and_further_figures_follow(record: Path) -> None:
    keep(record, distance(), {"": "dial"})
    keep(record, distance(), {})
    text = record.read_text("utf-8")
    assert text.startswith(RECORD)
    assert "m-002" in text
    assert sorted(load_record(record).measurements) == ["m-001", "m-002"]


def test_a_json_record_stays_json(tmp_path: Path) -> None:
    path = tmp_path / "tarn.json"
    tree = {
        "format": "unfasten-record/1",
        "product": {"id": "tarn-11", "name": "Tarn 11", "maker": "Fellwright", "category": "slate-tablet"},
        "parts": {"frame": {"name": "Midframe", "stays": True}, "dial": {"name": "Dial"}},
        "joints": {"dial-screw": {"kind": "screw", "holds": ["dial", "frame"], "ways": [{}]}},
    }
    path.write_text(json.dumps(tree), "utf-8")
    keep(path, distance(), {"": "dial"})
    assert json.loads(path.read_text("utf-8"))["measurements"]["m-001"]["of"] == "dial"


def test_made_again_it_is_the_same(record: Path) -> None:
    keep(record, distance(scale={"kind": "mat", "check_lines": ["100.2 ± 0.1 mm"]}), {"": "dial"}, "outer diameter")
    (one,) = again(load_record(record), open_photo(photo(), "bench.png"), ())
    assert one.same
    assert one.as_json()["now"] == one.as_json()["held"]


def test_a_changed_figure_is_seen(record: Path) -> None:
    keep(record, distance(), {"": "dial"})
    held = str(load_record(record).measurements["m-001"].value)
    record.write_text(record.read_text("utf-8").replace(held, "19.00 ± 0.33 mm"), "utf-8")
    (one,) = again(load_record(record), open_photo(photo(), "bench.png"), ())
    assert not one.same
    assert one.now == held


def test_parts_are_entered_by_their_letters(record: Path) -> None:
    done = measure_photo(photo(), "bench.png", {"kind": "parts"})
    keep(record, done, {"A": "dial"})
    held = load_record(record).measurements
    assert [(one.name, one.letter, one.of) for one in held.values()] == [
        ("length", "A", "dial"),
        ("width", "A", "dial"),
        ("area", "A", "dial"),
    ]
    assert held["m-003"].value.unit == "mm²"
    assert all(one.same for one in again(load_record(record), open_photo(photo(), "bench.png"), ()))


def test_a_hole_pattern_is_entered_whole(record: Path) -> None:
    _, camera = mat_photo()
    turn = np.linspace(0, 6, 5)
    holes = [
        round_picks(camera.seen(np.array(at) + 2 * np.column_stack([np.cos(turn), np.sin(turn)])))
        for at in ((60, 60), (90, 60))
    ]
    done = measure_photo(photo(), "bench.png", {"kind": "holes", "readings": [holes]})
    keep(record, done, {"": "dial"})
    held = {one.name: one for one in load_record(record).measurements.values()}
    assert float(held["holes 1 to 2"].value.value) == pytest.approx(30, abs=0.1)
    assert float(held["hole 1 diameter"].value.value) == pytest.approx(4, abs=0.1)
    assert all(one.same for one in again(load_record(record), open_photo(photo(), "bench.png"), ()))


@pytest.mark.parametrize(
    ("of", "code"), [({"": "crown"}, "photo.unknown-part"), ({"Z": "dial"}, "photo.unknown-letter")]
)
def test_wrong_owner_leaves_the_file_alone(record: Path, of: dict[str, str], code: str) -> None:
    with pytest.raises(CallError) as caught:
        keep(record, distance(), of)
    assert caught.value.code == code
    assert record.read_text("utf-8") == RECORD


def test_unknown_letter_of_a_part_says_which_there_are(record: Path) -> None:
    done = measure_photo(photo(), "bench.png", {"kind": "parts"})
    with pytest.raises(CallError, match="found: A"):
        keep(record, done, {"B": "dial"})


def test_parts_without_an_owner_are_not_kept(record: Path) -> None:
    done = measure_photo(photo(), "bench.png", {"kind": "parts"})
    with pytest.raises(CallError) as caught:
        keep(record, done, {})
    assert caught.value.code == "photo.nothing-to-keep"


def test_another_photo_is_refused(record: Path) -> None:
    keep(record, distance(), {"": "dial"})
    other = open_photo(png_of(mat_photo(10.0)[0]), "other.png")
    with pytest.raises(DataError) as caught:
        again(load_record(record), other, ())
    assert caught.value.code == "photo.other-photo"


def test_unknown_measurement_is_refused(record: Path) -> None:
    keep(record, distance(), {"": "dial"})
    with pytest.raises(CallError, match="name one of m-001"):
        again(load_record(record), open_photo(photo(), "bench.png"), (), ("m-009",))
