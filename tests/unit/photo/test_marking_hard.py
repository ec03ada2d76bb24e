"""Markings that are hard to read: faint, dotted, tilted; and what is said where two readings of a line differ."""

from __future__ import annotations

import numpy as np
import pytest
from tests.support.hard_markings import HARD, hard_picture
from tests.support.marking_pictures import invented_lines

from unfasten.photo.identify import ocr
from unfasten.photo.identify.markings import mistaken_for
from unfasten.photo.identify.ocr import Box, Line, read_marking, shades


def right(kind: str, seeds: range) -> int:
    """Lines read right, three a picture."""
    count = 0
    for seed in seeds:
        lines = invented_lines(np.random.default_rng(7000 + seed))
        found = [line.text for line in read_marking(hard_picture(kind, lines, seed)).lines]
        count += sum(line in found for line in lines)
    return count


def test_faint_prints_are_read_that_are_not_seen_when_only_evened_out() -> None:
    assert right("faint", range(2)) >= 4
    lines = invented_lines(np.random.default_rng(7000))
    evened, _ = ocr._prepared(hard_picture("faint", lines, 0))
    assert [text for _, text, _ in ocr._engine_reads(evened) if text in lines] == []


def test_dotted_and_tilted_prints_are_read_for_the_most_part() -> None:
    assert right("dotted", range(1)) + right("tilted", range(1)) >= 4


def test_a_reading_says_where_it_comes_out_otherwise(monkeypatch: pytest.MonkeyPatch) -> None:
    """Two preparations of one picture are read differently: the surer one is proposed, the other is named."""
    picture = np.full((200, 400, 3), 40, np.uint8)
    corners = np.array([[20, 20], [300, 20], [300, 80], [20, 80]], float)
    answers = iter([[(corners, "FW8G128A", 0.97)], [(corners, "", 0.0)], [(corners, "FWBG128A", 0.91)]])
    monkeypatch.setattr(ocr, "_engine_reads", lambda grey: next(answers))
    reading = read_marking(picture)
    assert [(line.text, line.other) for line in reading.lines] == [("FW8G128A", "FWBG128A")]
    assert "read in two ways: FW8G128A or FWBG128A" in reading.says
    assert reading.as_json()["confirmed"] is False


def test_the_same_reading_twice_is_no_doubt_and_another_line_is_none() -> None:
    line = Line("FW8G128A", 0.9, Box(0, 0, 100, 20))
    same, below = Line("FW8G128A", 0.8, Box(2, 1, 95, 20)), Line("2547", 0.9, Box(0, 30, 60, 20))
    assert ocr._otherwise(line, [below, same]) == ""
    assert ocr._otherwise(line, [below]) == ""
    assert ocr._otherwise(line, [Line("FWBG128A", 0.8, same.box)]) == "FWBG128A"


@pytest.mark.parametrize("kind", sorted(HARD))
def test_the_pictures_hold_something_to_read(kind: str) -> None:
    picture = hard_picture(kind, ("FW8G128A", "K2 2547", "TARN11"), 1)
    dark, bright = shades(picture)
    assert picture.shape == (480, 480, 3)
    assert bright - dark > 6


def test_characters_that_are_often_mistaken_are_named_with_what_they_may_be() -> None:
    assert mistaken_for("B5") == {"B": "38", "5": "S"}
    assert mistaken_for("-") == {}
