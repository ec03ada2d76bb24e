"""Use of a board from picks on rendered photos: the truth is known, and what is common to all areas falls out."""

from __future__ import annotations

import numpy as np
import pytest
from tests.support.mat_photo import jpeg_of, mat_photo

from unfasten.evidence.errors import CallError
from unfasten.photo.open import open_photo
from unfasten.service.boardphoto import BoardPhoto, measure_board

BOARD = np.array([[70.0, 60], [130, 60], [130, 90], [70, 90]])
BODIES = {
    "logic": np.array([[75.0, 65], [89, 65], [89, 79], [75, 79]]),
    "memory": np.array([[95.0, 65], [105, 65], [105, 79.5], [95, 79.5]]),
}
TRUE_USE = 100 * (14 * 14 + 10 * 14.5) / 1800


def ask(**more: object) -> dict[str, object]:
    _, camera = mat_photo()
    return {
        "board": camera.seen(BOARD).tolist(),
        "bodies": {name: camera.seen(corners).tolist() for name, corners in BODIES.items()},
        "height": "0 ± 0.05 mm",
        **more,
    }


@pytest.fixture(scope="module")
def photo() -> bytes:
    return jpeg_of(mat_photo()[0])


@pytest.fixture(scope="module")
def found(photo: bytes) -> BoardPhoto:
    return measure_board(photo, "bench.jpg", ask())


def test_the_intervals_hold_the_truth(found: BoardPhoto) -> None:
    board, bodies, use, empty = found.found.readings
    assert board.holds(1800)
    assert bodies.holds(341)
    assert use.holds(TRUE_USE)
    assert empty.value == pytest.approx(100 - use.value)
    assert use.u == pytest.approx(empty.u)


def test_what_is_common_to_all_areas_falls_out_of_the_share(found: BoardPhoto) -> None:
    board, bodies, use, _ = found.found.readings

    def relative(reading: object, name: str) -> float:
        told = reading.as_json()  # type: ignore[attr-defined]
        return sum(part["u"] for part in told["budget"] if part["name"] == name) / told["value"]

    for name in ("scale fit", "height"):
        assert relative(board, name) > 0
        assert relative(use, name) < relative(board, name) / 2
    # as independent areas the share would be as uncertain as both together
    apart = use.value * np.hypot(board.u / board.value, bodies.u / bodies.value)
    assert use.u < apart


def test_a_height_that_is_not_known_hardly_matters_for_the_share(photo: bytes) -> None:
    sure, unsure = (measure_board(photo, "p.jpg", ask(height=f"0 ± {u} mm")).found.readings for u in (0.05, 2))
    assert unsure[0].u > 1.05 * sure[0].u
    assert unsure[2].u < 1.01 * sure[2].u


def test_overlaps_and_overhangs_are_named(photo: bytes) -> None:
    _, camera = mat_photo()
    tree = ask()
    over = camera.seen(np.array([[125.0, 65], [135, 65], [135, 75], [125, 75]])).tolist()
    tree["bodies"] = {**tree["bodies"], "copy": tree["bodies"]["logic"], "socket": over}  # type: ignore[dict-item,index]
    answer = measure_board(photo, "p.jpg", tree)
    assert any("logic and copy overlap" in text for text in answer.found.says)
    assert any(text.startswith("socket reaches 5") for text in answer.found.says)
    empty = answer.found.readings[3]
    assert empty.value == pytest.approx(100 * (1 - (341 + 50) / 1800), abs=0.5)


@pytest.mark.parametrize(
    ("change", "code"),
    [
        ({"bodies": None}, "photo.picks"),
        ({"board": [[1, 2], [3, 4]]}, "identify.bad-outline"),
        ({"board": [[0, 0], [9, 9], [9, 0], [0, 9]]}, "identify.bad-outline"),
        ({"bodies": {"a": "round"}}, "photo.picks"),
        ({"scale": {"kind": "guess"}}, "photo.ask"),
        ({"colour": "green"}, "photo.ask"),
    ],
)
def test_wrong_asks_are_refused(photo: bytes, change: dict[str, object], code: str) -> None:
    with pytest.raises(CallError) as caught:
        measure_board(photo, "p.jpg", {**ask(), **change})
    assert caught.value.code == code


def test_a_photo_opened_before_is_used(photo: bytes) -> None:
    opened = open_photo(photo, "again.jpg")
    assert measure_board(opened, "again.jpg", ask()).as_json()["photo"] == {
        "name": "again.jpg",
        "sha256": opened.sha256,
    }
