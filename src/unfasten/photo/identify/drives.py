"""Which screw drives a recess can be, from its size across the points and from the thread: a set, with what stays open.

A hexalobular recess lies between the gauge that must enter and the one that must not (ISO 10664). The width of a cross
recess is a reference dimension without limits; `WING_SPREAD` is our allowance for it. The number alone names no recess:
families H, Z, S and others differ in shape, and the same thread has another number in another standard.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Final, Literal

from unfasten.photo.identify.figures import number, rows, word
from unfasten.photo.identify.window import COVERAGE_FACTOR, Measured, Window, agreement, rounded

Shape = Literal["hexalobular", "cross"]
SHAPES: Final[tuple[Shape, ...]] = ("hexalobular", "cross")
#: how far the width across the wings may lie from its reference dimension [mm]; our allowance, common practice
WING_SPREAD: Final = 0.2
_OPEN: Final = {
    "hexalobular": "sizes 7 and 9 of the trade stand in no table that was read; note a pin in the middle",
    "cross": "recesses of type S and the camera makers' No. 0 have no width in what was read and stay possible",
}
#: lobes -> shape with a table
_LOBES: Final = {6: "hexalobular", 4: "cross"}


@dataclass(frozen=True, slots=True)
class Drive:
    """A recess: family, number, width across the points, the screw and its greatest head diameter [mm], and source."""

    shape: Shape
    family: str
    size: int
    width: Window | None
    screw: str
    source: str
    confidence: str
    head: float | None = None

    @property
    def name(self) -> str:
        """Family and size, as `hexalobular 6` or `cross H 0`."""
        return f"{self.family} {self.size}"

    def as_json(self) -> dict[str, object]:
        """The drive with its limits, in mm."""
        return {
            "name": self.name,
            "shape": self.shape,
            "size": self.size,
            "points_mm": None if self.width is None else [round(self.width.low, 3), round(self.width.high, 3)],
            "screw": self.screw or None,
            "source": self.source,
            "confidence": self.confidence,
        }


@dataclass(frozen=True, slots=True)
class DriveSet:
    """What a recess can be, what just misses, and what cannot be told."""

    points: Measured | None
    k: float
    candidates: tuple[Drive, ...]
    near: tuple[tuple[Drive, str], ...]
    says: tuple[str, ...]

    def agreement(self, drive: Drive) -> float | None:
        """How well the width agrees with a drive [%] (`window.agreement`); None where there is nothing to compare."""
        return None if self.points is None or drive.width is None else agreement([(drive.width, self.points)], self.k)

    def as_json(self) -> dict[str, object]:
        """Everything in JSON."""
        return {
            "points_mm": None if self.points is None else {"value": self.points.value, "u": self.points.u},
            "k": self.k,
            "candidates": [
                {**drive.as_json(), "agreement_percent": rounded(self.agreement(drive))} for drive in self.candidates
            ],
            "near": [{"name": drive.name, "reason": reason} for drive, reason in self.near],
            "says": list(self.says),
        }


def drives_for(
    points: Measured | None,
    day: date,
    shapes: Sequence[Shape] = SHAPES,
    thread: str = "",
    head: Measured | None = None,
    k: float = COVERAGE_FACTOR,
) -> DriveSet:
    """The drives of these shapes that fit what is known, best agreement first: width across points, thread, head.

    Whatever is not given excludes nothing. A drive without a width in its source is kept out of a set by width, and the
    answer says so.
    """
    every = [drive for drive in known_drives(day) if drive.shape in shapes and _has_thread(drive, thread)]
    if points is not None:
        every = [drive for drive in every if drive.width is not None]
    fits = [drive for drive in every if not _misses(drive, points, head, k)]
    if points is not None:
        fits.sort(key=lambda drive: -round(agreement([(drive.width or Window(0, 0), points)], k), 6))
    near = [
        (drive, _misses(drive, points, head, k))
        for drive in every
        if drive not in fits and points is not None and drive.width is not None and drive.width.may_be(points, 3 * k)
    ]
    return DriveSet(points, k, tuple(fits), tuple(near), tuple(_says(fits, shapes, points, thread)))


def known_drives(day: date) -> tuple[Drive, ...]:
    """Every drive with a table that was read."""
    return (*_hexalobular(day), *_cross(day))


def describe_lobes(lobes: int, pin: bool | None) -> str:
    """What to note of a recess by its number of lobes: a shape without a public sheet is described, not named.

    >>> describe_lobes(6, False)
    'six lobes: hexalobular, without pin'
    """
    pinned = "" if pin is None else ", with a pin in the middle" if pin else ", without pin"
    if lobes in _LOBES:
        return f"{'six lobes' if lobes == 6 else 'four wings'}: {_LOBES[lobes]}{pinned}"
    return (
        f"{lobes} lobes{pinned}: a shape without a public sheet; note lobes, symmetry, size across points and the pin"
        " instead of a trade name"
    )


def _hexalobular(day: date) -> Iterator[Drive]:
    screws = {int(number(row, "size")): word(row, "thread") for _, row in rows("hexalobular.screws", day)}
    for name in ("hexalobular.small", "hexalobular.sizes"):
        for table, row in rows(name, day):
            size, width = int(number(row, "size")), Window(number(row, "go"), number(row, "no_go"))
            doc = table.cite.doc
            yield Drive("hexalobular", "hexalobular", size, width, screws.get(size, ""), doc, table.confidence)


def _cross(day: date) -> Iterator[Drive]:
    for kind in ("h", "z"):
        for table, row in rows("cross.iso", day):
            width = number(row, kind)
            window = Window(width - WING_SPREAD, width + WING_SPREAD)
            family, size = f"cross {kind.upper()}", int(number(row, "number"))
            screw, head = word(row, "thread"), number(row, "head")
            yield Drive("cross", family, size, window, screw, table.cite.doc, table.confidence, head)
    for name, family in (("cross.jis", "cross, Japanese"), ("cross.jis_s", "cross S, Japanese")):
        for table, row in rows(name, day):
            size, screw = int(number(row, "number")), word(row, "thread")
            yield Drive("cross", family, size, None, screw, table.cite.doc, table.confidence)


def _has_thread(drive: Drive, thread: str) -> bool:
    return not thread or drive.screw == thread


def _misses(drive: Drive, points: Measured | None, head: Measured | None, k: float) -> str:
    if points is not None and drive.width is not None and not drive.width.may_be(points, k):
        return f"it is {drive.width.text} across points, {points.text} was measured"
    if head is not None and drive.head is not None and head.value - k * head.u > drive.head:
        return f"pan heads {drive.screw} are at most {drive.head:g} mm wide, {head.text} was measured"
    return ""


def _says(fits: Sequence[Drive], shapes: Sequence[Shape], points: Measured | None, thread: str) -> Iterator[str]:
    if not fits:
        yield "no drive with a table fits: note lobes, symmetry, size across points and whether there is a pin"
    if len({drive.name for drive in fits}) > 1:
        yield "several drives fit; none is chosen"
    if thread and len({drive.size for drive in fits if drive.shape == "cross"}) > 1:
        yield f"standards give cross recesses of {thread} different numbers; look at the recess, not at the thread"
    for shape in shapes:
        if points is not None or shape == "hexalobular":
            yield _OPEN[shape]
    if "cross" in shapes and points is not None:
        yield f"widths of cross recesses are reference dimensions; {WING_SPREAD:g} mm either way is our allowance"
