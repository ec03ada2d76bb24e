"""Measuring for the doors: the same tree from page, command and record; notes, recipes and clear refusals."""

from __future__ import annotations

import json
import math
from typing import Any

import numpy as np
import pytest
from tests.support.mat_photo import jpeg_of, mat_photo, png_of, round_picks

from unfasten.evidence.errors import CallError, DataError
from unfasten.service.measure import measure_photo as measure_any
from unfasten.service.measurepicks import Measured

ENDS = np.array([[90.0, 80.0], [110.0, 80.0]])


def measure_photo(data: bytes, name: str, tree: dict[str, Any]) -> Measured:
    done = measure_any(data, name, tree)
    assert isinstance(done, Measured)
    return done


def ask(**more: Any) -> dict[str, Any]:
    _, camera = mat_photo()
    return {"kind": "distance", "readings": [round_picks(camera.seen(ENDS))], **more}


def test_distance_on_the_mat_with_its_budget() -> None:
    picture, _ = mat_photo()
    told = measure_photo(png_of(picture), "bench.png", ask()).as_json()
    (reading,) = told["readings"]
    assert reading["value"] == pytest.approx(20.0, abs=0.02)
    assert reading["interval"]["low"] < 20.0 < reading["interval"]["high"]
    lines = {line["name"]: line["u"] for line in reading["budget"]}
    assert set(lines) == {"pointing", "scale fit", "scale reference", "lens"}
    assert reading["u"] == pytest.approx(math.sqrt(sum(u**2 for u in lines.values())))
    assert lines["lens"] == pytest.approx(20.0 * 0.024 / math.sqrt(3), rel=0.01)
    assert any("no lens profile" in note for note in told["notes"])
    assert any("no height is stated" in note for note in told["notes"])


def test_result_is_plain_data_and_its_recipe_gives_it_again() -> None:
    picture, _ = mat_photo()
    told = json.loads(json.dumps(measure_photo(png_of(picture), "bench.png", ask()).as_json()))
    again = {key: value for key, value in told["recipe"].items() if key != "program"}
    assert measure_photo(png_of(picture), "bench.png", again).as_json()["readings"] == told["readings"]


def test_measured_check_line_replaces_the_doubt_of_the_print() -> None:
    picture, _ = mat_photo()
    plain = measure_photo(png_of(picture), "bench.png", ask())
    checked = measure_photo(png_of(picture), "bench.png", ask(scale={"kind": "mat", "check_lines": ["101 ± 0.1 mm"]}))
    assert checked.readings[0].value == pytest.approx(plain.readings[0].value * 1.01, rel=1e-6)
    line = {part.name: part.u for part in checked.readings[0].budget.components}["scale reference"]
    assert line == pytest.approx(checked.readings[0].value * 0.1 / 101, rel=1e-3)


def test_focal_length_in_the_photo_tells_the_distance_for_a_height() -> None:
    picture, camera = mat_photo()
    picks = round_picks(camera.seen(ENDS, 5.0))
    told = measure_photo(jpeg_of(picture), "bench.jpg", ask(readings=[picks], height="5 ± 0.1 mm", pointing=0.1))
    (reading,) = told.readings
    assert told.scaled.pose is not None
    assert "height" in {part.name for part in reading.budget.components}
    assert not any("no height" in note for note in told.notes)
    flat = measure_photo(jpeg_of(picture), "bench.jpg", ask(readings=[picks], pointing=0.1)).readings[0]
    assert flat.value / 20.0 - 1 > 0.009
    assert reading.value == pytest.approx(20.0, abs=0.05)


def test_height_without_a_distance_is_refused_and_with_one_taken() -> None:
    picture, _ = mat_photo()
    with pytest.raises(Exception, match="how far the camera was") as caught:
        measure_photo(png_of(picture), "bench.png", ask(height="5 ± 0.1 mm"))
    assert caught.value.code == "photo.no-distance"  # type: ignore[attr-defined]
    told = measure_photo(png_of(picture), "bench.png", ask(height="5 ± 0.1 mm", distance="400 ± 5 mm"))
    assert told.readings[0].value == pytest.approx(20.0 * (1 - 5 / 400), abs=0.02)


def test_rectangle_and_length_give_the_same_as_the_mat() -> None:
    picture, camera = mat_photo()
    corners = round_picks(camera.seen(np.array([[30.0, 30], [260, 30], [260, 130], [30, 130]])))
    rectangle = {"kind": "rectangle", "corners": corners, "width": "230 ± 0.1 mm", "height": "100 ± 0.1 mm"}
    found = measure_photo(png_of(picture), "bench.png", ask(scale=rectangle)).readings[0]
    assert found.value == pytest.approx(20.0, abs=0.03)
    square, camera = mat_photo(0.0)
    ends = round_picks(camera.seen(np.array([[30.0, 60], [130, 60]])))
    length = {"kind": "length", "ends": ends, "length": "100 ± 0.2 mm"}
    picks = [round_picks(camera.seen(ENDS))]
    told = measure_photo(png_of(square), "bench.png", ask(scale=length, readings=picks))
    assert told.readings[0].value == pytest.approx(20.0, abs=0.05)
    assert {"tilt"} <= {part.name for part in told.readings[0].budget.components}
    assert any("tell no tilt" in note for note in told.notes)


def test_square_camera_leaves_no_tilt_in_the_budget() -> None:
    picture, camera = mat_photo(0.0)
    ends = round_picks(camera.seen(np.array([[30.0, 60], [130, 60]])))
    length = {"kind": "length", "ends": ends, "length": "100 ± 0.2 mm", "tilt": 0}
    told = measure_photo(png_of(picture), "bench.png", ask(scale=length, readings=[round_picks(camera.seen(ENDS))]))
    assert "tilt" not in {part.name for part in told.readings[0].budget.components}


def test_repeated_readings_are_combined() -> None:
    picture, _ = mat_photo()
    base = ask()["readings"][0]
    more = [[[x + d, y] for (x, y), d in zip(base, (e, -e), strict=True)] for e in (0.0, 0.2, -0.3, 0.1)]
    told = measure_photo(png_of(picture), "bench.png", ask(readings=more)).readings[0]
    names = [part.name for part in told.budget.components]
    assert names[0] == "repeat readings"
    assert told.budget.components[0].evaluation == "A"
    one = measure_photo(png_of(picture), "bench.png", ask())
    assert told.budget.components[0].u < one.readings[0].budget.components[0].u


@pytest.mark.parametrize(
    ("wrong", "says"),
    [
        ({"kind": "volume"}, "kind"),
        ({"readings": []}, "nothing is picked"),
        ({"readings": [["here", "there"]]}, "no points"),
        ({"readings": [[[1, 2], [3, float("nan")]]]}, "not finite"),
        ({"scale": {"kind": "length", "ends": [[1, 2], [3, 4]], "length": "100 mm"}}, "no uncertainty"),
        ({"scale": {"kind": "length", "ends": [[1, 2], [1, 2]], "length": "100 ± 1 mm"}}, "one point"),
        ({"scale": {"kind": "length", "ends": [[1, 2], [3, 4]], "length": "100 ± 1 g"}}, "length"),
        ({"scale": {"kind": "yardstick"}}, "scale"),
        ({"height": "2 mm"}, "no uncertainty"),
        ({"pointing": -1}, "pointing"),
        ({"colour": "blue", "kind": "volume"}, "colour"),
    ],
)
def test_wrong_asks_say_what_is_wrong(wrong: dict[str, Any], says: str) -> None:
    picture, _ = mat_photo()
    with pytest.raises(CallError, match=says):
        measure_photo(png_of(picture), "bench.png", ask(**wrong))


def test_edge_of_light_is_measured_from_rough_picks() -> None:
    picture, camera = mat_photo()
    turn = np.linspace(0, 5, 5)
    rough = round_picks(camera.seen(np.array([100, 80]) + 10.3 * np.column_stack([np.cos(turn), np.sin(turn)])))
    told = measure_photo(png_of(picture), "bench.png", {"kind": "diameter", "readings": [rough], "edge": True})
    assert told.readings[0].name == "diameter"
    assert told.readings[0].value == pytest.approx(20, abs=0.02)
    assert {"outline", "edge"} <= {part.name for part in told.readings[0].budget.components}
    holes = {"kind": "holes", "readings": [[rough]], "edge": True}
    found = {one.name: one for one in measure_photo(png_of(picture), "bench.png", holes).readings}
    assert found["hole 1 diameter"].value == pytest.approx(told.readings[0].value)
    assert found["hole 1 diameter"].u == pytest.approx(told.readings[0].u, rel=1e-3)
    round_ = np.linspace(0, 2 * math.pi, 40, endpoint=False)
    close = camera.seen(np.array([100, 80]) + 10.2 * np.column_stack([np.cos(round_), np.sin(round_)]))
    area = {"kind": "area", "readings": [round_picks(close)], "edge": True}
    assert measure_photo(png_of(picture), "bench.png", area).readings[0].value == pytest.approx(100 * math.pi, rel=0.01)


def test_no_edge_where_there_is_none() -> None:
    picture, camera = mat_photo()
    bare = round_picks(camera.seen(np.array([[180.0, 70], [190, 80], [180, 90], [170, 80]])))
    for kind in ("diameter", "area"):
        with pytest.raises(DataError) as caught:
            measure_photo(png_of(picture), "bench.png", {"kind": kind, "readings": [bare], "edge": True})
        assert caught.value.code == "photo.no-edge"
    with pytest.raises(CallError, match="no edge that light could draw"):
        measure_photo(png_of(picture), "bench.png", ask(edge=True))


def test_parts_come_through_the_same_door() -> None:
    picture, _ = mat_photo()
    told = json.loads(json.dumps(measure_any(png_of(picture), "bench.png", {"kind": "parts"}).as_json()))
    (part,) = told["parts"]
    assert part["letter"] == "A"
    assert part["diameter"]["value"] == pytest.approx(20, abs=0.05)
    assert [part["centroid_x"]["value"], part["centroid_y"]["value"]] == pytest.approx([100, 80], abs=0.5)
    assert len(part["outline_px"]) >= len(part["outline_mm"]) > 20


def test_parts_need_the_mat() -> None:
    picture, _ = mat_photo()
    with pytest.raises(CallError, match="laid out on the mat"):
        measure_any(png_of(picture), "bench.png", {"kind": "parts", "scale": {"kind": "card"}})
