"""Naming what was measured or read: the answers behind `unfasten identify` and the pages that ask the same."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from pathlib import Path
from typing import Final

from unfasten.evidence.datafile import read_data
from unfasten.evidence.errors import CallError
from unfasten.evidence.fields import Fields, Sheaf
from unfasten.evidence.filebytes import read_limited
from unfasten.evidence.quantity import QuantityError, parse
from unfasten.photo.facts import PhotoRemark
from unfasten.photo.identify.confirmation import Confirmation, confirm
from unfasten.photo.identify.datecode import DateCode, codes_in, read_date_code
from unfasten.photo.identify.drives import SHAPES, DriveSet, Shape, describe_lobes, drives_for
from unfasten.photo.identify.markings import ListedPart, MarkingMatch, match_marking, mistaken_for
from unfasten.photo.identify.ocr import Box, MarkingReading, crop, read_marking, shades
from unfasten.photo.identify.packages import PackageSet, packages_for, read_size
from unfasten.photo.identify.threads import ThreadSet, threads_for
from unfasten.photo.identify.window import COVERAGE_FACTOR, Measured, measured
from unfasten.photo.open import Photo, open_photo

LIST_FORMAT: Final = "unfasten-markings/1"
_REGION: Final = re.compile(r"(\d{1,6}),(\d{1,6}),(\d{1,6}),(\d{1,6})", re.ASCII)


def identify_thread(
    diameter: str,
    day: date,
    pitch: str | None = None,
    length: str | None = None,
    turns: int | None = None,
    k: float = COVERAGE_FACTOR,
) -> ThreadSet:
    """Threads that a screw can be. The pitch is given, or follows from a length over so many turns, or is unknown.

    `k` is the coverage factor of the readings; where few of them were made it is more than 2.

    Raises `CallError` for what is no length with an uncertainty, and where pitch and length are both given.
    """
    if (length is None) != (turns is None) or (pitch is not None and length is not None):
        message = "give the pitch, or a length together with the number of turns on it"
        raise CallError("identify.pitch-twice", "pitch", message, "leave one of them out")
    found = None if pitch is None else _length(pitch, "pitch")
    if length is not None and turns is not None:
        whole = _length(length, "length")
        found = Measured(whole.value / turns, whole.u / turns)
    return threads_for(_length(diameter, "diameter"), found, day, k)


@dataclass(frozen=True, slots=True)
class DriveAnswer:
    """What a recess can be, and what its lobes say by themselves."""

    drives: DriveSet
    lobes: str = ""

    def as_json(self) -> dict[str, object]:
        """Everything in JSON."""
        return {**self.drives.as_json(), "lobes": self.lobes or None}


def identify_drive(
    day: date,
    points: str | None = None,
    shape: Shape | None = None,
    thread: str = "",
    head: str | None = None,
    lobes: int | None = None,
    pin: bool | None = None,
    k: float = COVERAGE_FACTOR,
) -> DriveAnswer:
    """Drives that a recess can be, from its width across points, its screw's thread and head, and its lobes."""
    shapes = SHAPES if shape is None else (shape,)
    if lobes is not None:
        shapes = tuple(one for one in shapes if one == {6: "hexalobular", 4: "cross"}.get(lobes))
    wide = None if points is None else _length(points, "across points")
    found = drives_for(wide, day, shapes, thread, None if head is None else _length(head, "head"), k)
    return DriveAnswer(found, "" if lobes is None else describe_lobes(lobes, pin))


def identify_package(size: str, day: date, balls: int | None = None, k: float = COVERAGE_FACTOR) -> PackageSet:
    """Package outlines that a body of this size can be; raises `CallError` if `size` is no size."""
    one, other = read_size(size)
    return packages_for(one, other, day, balls, k)


def identify_date_code(code: str, made_before: date) -> DateCode:
    """Weeks that a date code can mean."""
    return read_date_code(code.strip(), made_before)


@dataclass(frozen=True, slots=True)
class MarkingAnswer:
    """A proposed reading with its crop, the listed parts it resembles, and date codes it may hold; none confirmed."""

    photo: str
    reading: MarkingReading
    match: MarkingMatch | None
    date_codes: tuple[DateCode, ...]
    crop: bytes = field(repr=False)
    shades: tuple[float, float]
    remarks: tuple[PhotoRemark, ...] = ()

    def as_json(self) -> dict[str, object]:
        """Everything in JSON but the crop."""
        candidates = None if self.match is None else [one.as_json() for one in self.match.candidates]
        says = [] if self.match is None else list(self.match.says)
        return {
            "photo": self.photo,
            **self.reading.as_json(),
            "shades": list(self.shades),
            "mistaken": mistaken_for("".join(line.text for line in self.reading.lines)),
            "candidates": candidates,
            "candidates_say": says,
            "date_codes": [code.as_json() for code in self.date_codes],
            "remarks": [remark.as_json() for remark in self.remarks],
        }


def identify_marking(
    photo: Photo, made_before: date, region: Box | None = None, parts: Sequence[ListedPart] | None = None
) -> MarkingAnswer:
    """Read the marking of a package on a photo and compare it with a list of parts; `parts` None: there is no list."""
    reading = read_marking(photo.pixels, region)
    lines = [line.text for line in reading.lines]
    match = None if parts is None else match_marking(lines, parts)
    codes = tuple(code for line in lines for code in codes_in(line, made_before))
    picture = crop(photo.pixels, reading.region, reading.turned)
    box = reading.region
    spread = shades(photo.pixels[box.y : box.y + box.height, box.x : box.x + box.width])
    return MarkingAnswer(photo.sha256, reading, match, codes, picture, spread, photo.facts.remarks)


def confirm_marking(
    answer: MarkingAnswer,
    lines: Sequence[str],
    by: str,
    at: datetime,
    part: str | None = None,
    parts: Sequence[ListedPart] = (),
) -> Confirmation:
    """Keep what a person saw beside the crop; raises `CallError` for what is no confirmation."""
    return confirm(answer.reading, answer.photo, lines, by, at, part, [one.id for one in parts])


def photo_at(path: Path) -> Photo:
    """The photograph in a file."""
    return open_photo(path)


def read_region(text: str) -> Box:
    """Read `left,top,width,height` in px; raises `CallError` if it is none.

    >>> read_region("10,20,300,200").width
    300
    """
    found = _REGION.fullmatch(text.replace(" ", ""))
    if found is None:
        remedy = "write left,top,width,height in px, such as 120,80,400,300"
        raise CallError("identify.bad-region", repr(text), "this is no region", remedy)
    return Box(*(int(number) for number in found.groups()))


def read_parts(path: Path) -> tuple[ListedPart, ...]:
    """Read the lab's list of parts strictly; raises `InvalidFileError` with every problem.

    format: unfasten-markings/1
    parts:
      flash-128: {name: Flash memory 128, markings: [FW8G128, FW8G128-A]}
    """
    document = read_data(read_limited(path), path.name)
    sheaf = Sheaf(path.name, document, list(document.problems))
    sheaf.close()
    top = Fields(document.value, (), sheaf, ("format", "parts"))
    if top.text("format") not in ("", LIST_FORMAT):
        top.wrong("format", LIST_FORMAT)
    found = []
    for place, name, item in top.pairs("parts"):
        fields = Fields(item, place, sheaf, ("name", "markings"))
        markings = []
        for at, marking in fields.items("markings"):
            if not isinstance(marking, str) or not any(char.isalnum() for char in marking):
                sheaf.add("data.wrong-kind", at, "this is no marking", "write it as text in quotes")
                continue
            markings.append(marking)
        found.append(ListedPart(name, fields.text("name"), tuple(markings)))
    sheaf.close()
    return tuple(found)


def _length(text: str, what: str) -> Measured:
    try:
        return measured(parse(text, "length"), what)
    except QuantityError as error:
        raise CallError("identify.no-length", what, str(error), "write it as '1.58 ± 0.02 mm'") from error
