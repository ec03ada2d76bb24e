"""The bench mat: where its markers, field, cells and check lines lie on the paper, in millimetres.

x runs to the right and y down, from the top left corner of the sheet (landscape). Every size of paper has marker ids of
its own, so a photo tells which mat it shows. Figures without a source are our own drawing.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import count
from types import MappingProxyType
from typing import Final

from unfasten.evidence.errors import CallError

#: markers of 4 x 4 bits, border of one module, from the first 250 of the library's dictionary
DICTIONARY: Final = "DICT_4X4_250"
MODULES: Final = 6
#: length of the check lines [mm]
CHECK_LINE: Final = 100.0
_EDGE: Final = 10.0
_QUIET: Final = 3.0
_CELL_ROWS: Final = 2
_TITLE_WIDTH: Final = 84.0


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle on the paper [mm]."""

    x: float
    y: float
    width: float
    height: float

    @property
    def corners(self) -> tuple[tuple[float, float], ...]:
        """Corners from the top left, the way a clock turns."""
        right, low = self.x + self.width, self.y + self.height
        return ((self.x, self.y), (right, self.y), (right, low), (self.x, low))


@dataclass(frozen=True, slots=True)
class Mat:
    """A mat: paper [mm], markers by id (squares), plain field, numbered cells, title block and check lines."""

    size: str
    width: float
    height: float
    markers: MappingProxyType[int, Box]
    field: Box
    cells: tuple[Box, ...]
    title: Box
    check_lines: tuple[Box, ...]


@dataclass(frozen=True, slots=True)
class Paper:
    """A size of paper, landscape [mm]; `first` is its first marker id, `across` and `down` the markers of a side."""

    width: float
    height: float
    first: int
    across: int
    down: int
    marker: float
    cells: int


#: A4 and A3 after ISO 216; letter is 11 in x 8.5 in
PAPERS: Final = MappingProxyType(
    {
        "A4": Paper(297.0, 210.0, 0, 9, 6, 12.0, 14),
        "A3": Paper(420.0, 297.0, 40, 11, 8, 15.0, 20),
        "letter": Paper(279.4, 215.9, 100, 9, 6, 12.0, 14),
    }
)


def mat_of(size: str) -> Mat:
    """The mat for a size of paper; raises `CallError` for an unknown one."""
    known = {name.lower(): name for name in PAPERS}
    if size.lower() not in known:
        message = f'there is no mat of size "{size}"'
        raise CallError("mat.unknown-size", "--size", message, f"name one of {', '.join(PAPERS)}")
    return _drawn(known[size.lower()])


def mat_of_marker(marker: int) -> Mat | None:
    """The mat that has a marker of this id, if any has."""
    return next((mat for mat in map(mat_of, PAPERS) if marker in mat.markers), None)


def _drawn(size: str) -> Mat:
    paper = PAPERS[size]
    ring = _ring(paper)
    inner = _EDGE + paper.marker + _QUIET
    width, height = paper.width - 2 * inner, paper.height - 2 * inner
    strip = 44.0
    field = Box(inner, inner, width, height - strip - _QUIET)
    low = inner + height - strip
    per_row = paper.cells // _CELL_ROWS
    cell = (width - _TITLE_WIDTH - _QUIET) / per_row
    tall = strip / _CELL_ROWS
    cells = tuple(
        Box(inner + column * cell, low + row * tall, cell, tall)
        for row in range(_CELL_ROWS)
        for column in range(per_row)
    )
    title = Box(inner + width - _TITLE_WIDTH, low, _TITLE_WIDTH, strip)
    lines = _check_lines(paper, field)
    return Mat(size, paper.width, paper.height, MappingProxyType(ring), field, cells, title, lines)


def _check_lines(paper: Paper, field: Box) -> tuple[Box, ...]:
    """One across along the top of the sheet, one down along its left side, outside the markers."""
    across = Box((paper.width - CHECK_LINE) / 2, _EDGE - 3.2, CHECK_LINE, 0.0)
    down = Box(_EDGE - 3.2, field.y + (paper.height - 2 * field.y - CHECK_LINE) / 2, 0.0, CHECK_LINE)
    return across, down


def _ring(paper: Paper) -> dict[int, Box]:
    """Markers evenly along the four sides, numbered the way a clock turns from the top left corner."""
    size, ids = paper.marker, count(paper.first)
    xs = [_EDGE + i * (paper.width - 2 * _EDGE - size) / (paper.across - 1) for i in range(paper.across)]
    ys = [_EDGE + i * (paper.height - 2 * _EDGE - size) / (paper.down - 1) for i in range(paper.down)]
    xs, ys = [round(x, 3) for x in xs], [round(y, 3) for y in ys]
    places = [(x, ys[0]) for x in xs]
    places += [(xs[-1], y) for y in ys[1:]]
    places += [(x, ys[-1]) for x in reversed(xs[:-1])]
    places += [(xs[0], y) for y in reversed(ys[1:-1])]
    return {next(ids): Box(x, y, size, size) for x, y in places}
