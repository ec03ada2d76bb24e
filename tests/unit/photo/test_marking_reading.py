"""Reading markings from rendered pictures: dark ones, turned ones, where the lines lie, and without any network."""

from __future__ import annotations

import io
import socket
import sys
from datetime import date
from functools import cache

import numpy as np
import pytest
from numpy.typing import NDArray
from PIL import Image
from tests.support.marking_pictures import invented_lines, package_picture

from unfasten.evidence.errors import CallError
from unfasten.photo.identify import ocr
from unfasten.photo.identify.markings import ListedPart
from unfasten.photo.identify.ocr import Box, MarkingReading, crop, read_marking
from unfasten.photo.open import open_photo
from unfasten.service.identify import identify_marking, read_region

DAY = date(2026, 11, 25)
LINES = ("FELLWRIGHT", "FW8G128A", "2615")


@pytest.fixture(autouse=True)
def no_network(monkeypatch: pytest.MonkeyPatch) -> None:
    """Any attempt to reach another machine fails the test."""

    def refuse(*_: object, **__: object) -> None:
        raise AssertionError("the reader asked the network")

    monkeypatch.setattr(socket.socket, "connect", refuse)
    monkeypatch.setattr(socket, "getaddrinfo", refuse)


@cache
def read(turned: int) -> tuple[NDArray[np.uint8], MarkingReading]:
    """A picture turned by so many quarters, and what is read on it."""
    pixels = open_photo(package_picture(LINES, 5, turned)).pixels
    return pixels, read_marking(pixels)


@pytest.mark.parametrize("turned", range(4))
def test_a_marking_is_read_whichever_way_it_stands(turned: int) -> None:
    _, reading = read(turned)
    assert [line.text for line in reading.lines] == list(LINES)
    assert reading.turned == 90 * turned
    assert reading.as_json()["confirmed"] is False


def test_most_dark_markings_are_read() -> None:
    """Grey on black at a contrast at which the picture as it is gives three lines of four."""
    right = 0
    for seed in range(4):
        lines = invented_lines(np.random.default_rng(100 + seed))
        reading = read_marking(open_photo(package_picture(lines, seed)).pixels)
        right += sum(line in [one.text for one in reading.lines] for line in lines)
    assert right >= 11


@pytest.mark.parametrize("turned", range(4))
def test_boxes_lie_where_the_lines_are(turned: int) -> None:
    """A tight crop of the box of a line, turned upright, holds that line and no other."""
    pixels, reading = read(turned)
    line = reading.lines[turned % 3]
    alone = read_marking(open_photo(crop(pixels, line.box, reading.turned)).pixels)
    assert [one.text for one in alone.lines] == [line.text]
    assert alone.turned == 0


def test_a_region_is_read_alone_and_told_in_pixels_of_the_photo() -> None:
    one = np.asarray(Image.open(io.BytesIO(package_picture(LINES, 5))))
    other = np.asarray(Image.open(io.BytesIO(package_picture(("TARN11", "RADIO7"), 6))))
    pixels = np.ascontiguousarray(np.hstack([one, other])[:, :, ::-1])
    reading = read_marking(pixels, Box(420, 0, 420, 420))
    assert [line.text for line in reading.lines] == ["TARN11", "RADIO7"]
    assert all(line.box.x >= 420 for line in reading.lines)
    assert reading.region == Box(420, 0, 420, 420)


def test_the_crop_of_a_dark_print_can_be_seen() -> None:
    pixels, reading = read(0)
    shown = open_photo(crop(pixels, reading.lines[1].box)).pixels
    assert pixels.max() < 100
    assert np.percentile(shown, 99) > 200
    assert open_photo(crop(np.full((40, 60, 3), 7, np.uint8), Box(0, 0, 60, 40))).pixels.shape == (40, 60, 3)


def test_a_tight_region_is_read_too() -> None:
    pixels, reading = read(0)
    line = reading.lines[1]
    assert [one.text for one in read_marking(pixels, line.box).lines] == [line.text]


def test_nothing_to_read_is_said() -> None:
    reading = read_marking(np.full((200, 200, 3), 20, np.uint8))
    assert reading.lines == ()
    assert "nothing was read" in reading.says[0]


@pytest.mark.parametrize("region", ["900,0,50,50", "0,0,5,5", "415,10,100,100"])
def test_a_region_outside_is_refused(region: str) -> None:
    pixels = np.zeros((420, 420, 3), np.uint8)
    with pytest.raises(CallError) as caught:
        read_marking(pixels, read_region(region))
    assert caught.value.code == "identify.bad-region"


@pytest.mark.parametrize("text", ["1,2,3", "a,b,c,d", "1,2,3,-4", ""])
def test_what_is_no_region_is_refused(text: str) -> None:
    with pytest.raises(CallError) as caught:
        read_region(text)
    assert caught.value.code == "identify.bad-region"


def test_the_answer_holds_candidates_and_date_codes_but_confirms_nothing() -> None:
    photo = open_photo(package_picture(LINES, 5))
    answer = identify_marking(photo, DAY, parts=[ListedPart("flash-128", "Flash memory", ("FW8G128A",))])
    told = answer.as_json()
    assert told["photo"] == photo.sha256
    assert told["confirmed"] is False
    assert [one["part"] for one in told["candidates"]] == ["flash-128"]  # type: ignore[attr-defined]
    assert [code.code for code in answer.date_codes] == ["2615"]
    assert open_photo(answer.crop).width == 420
    assert identify_marking(photo, DAY).as_json()["candidates"] is None


def test_without_the_reader_the_extra_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "rapidocr", None)
    monkeypatch.setattr(ocr, "_engine", ocr._engine.__wrapped__)
    with pytest.raises(CallError) as caught:
        read_marking(np.full((100, 100, 3), 20, np.uint8))
    assert caught.value.code == "identify.reader-missing"
    assert "extra `photo`" in caught.value.remedy
