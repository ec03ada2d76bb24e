"""Orthogonal lines of the structure drawing: lanes between the columns, tracks between the rows.

All covers of one part share a trunk: it leaves the part downwards, runs along a track of its own in the channel below,
and drops onto each part it covers; on the way to deeper rows it runs down one lane between two columns.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final

from unfasten.report.figures.layers import COLUMNS, Place
from unfasten.report.model.structure import CoverLine

BOX_WIDTH: Final = 104.0
BOX_HEIGHT: Final = 36.0
GAP: Final = 25.0
MARGIN: Final = 14.0
TRACK: Final = 5.0
PORT: Final = 7.0
#: free height above and below the tracks of a channel
AIR: Final = 9.0
WIDTH: Final = 2 * MARGIN + COLUMNS * BOX_WIDTH + (COLUMNS + 1) * GAP


@dataclass(slots=True)
class Channel:
    """The room between two rows: the stretches that run along it and the track of each."""

    spans: dict[str, tuple[float, float]] = field(default_factory=dict)
    track: dict[str, int] = field(default_factory=dict)

    @property
    def height(self) -> float:
        """Height that the tracks need."""
        count = max(self.track.values(), default=-1) + 1
        return 2 * AIR + TRACK * max(count, 1)

    def widen(self, name: str, *xs: float) -> None:
        """Let the stretch of `name` reach all of `xs`."""
        start, stop = self.spans.get(name, (xs[0], xs[0]))
        self.spans[name] = (min(start, *xs), max(stop, *xs))

    def settle(self) -> None:
        """Give each stretch the first track on which it meets no other."""
        ends: list[float] = []
        for name, (start, stop) in sorted(self.spans.items(), key=lambda item: (item[1], item[0])):
            number = next((n for n, end in enumerate(ends) if end + 4 < start), len(ends))
            ends[number:] = [stop, *ends[number + 1 :]]
            self.track[name] = number


@dataclass(frozen=True, slots=True)
class Plan:
    """Where everything stands: left edge, top and width of each box, the points of each cover line, the height."""

    left: dict[str, float]
    top: dict[str, float]
    width: dict[str, float]
    lines: tuple[tuple[CoverLine, tuple[tuple[float, float], ...]], ...]
    height: float


def left_edge(column: int) -> float:
    """Left edge of a column."""
    return MARGIN + GAP + column * (BOX_WIDTH + GAP)


def box_width(span: int) -> float:
    """Width of a box over so many columns."""
    return span * BOX_WIDTH + (span - 1) * GAP


def route_lines(spots: Mapping[str, Place], covers: Sequence[CoverLine], top: float) -> Plan:
    """Lay the lines of the covers between the boxes; `top` is the top of the first row."""
    count = max((spot.row for spot in spots.values()), default=-1) + 1
    channels = [Channel() for _ in range(count + 1)]
    left = {name: left_edge(spot.column) for name, spot in spots.items()}
    ports = _ports(spots, covers, left)
    lanes = _lanes(spots, covers, left)
    out = _outlets(spots, covers, left, ports, lanes)
    for cover in covers:
        first, last = spots[cover.upper].row, spots[cover.lower].row - 1
        start, port = out[cover], ports[cover]
        if first == last:
            channels[first].widen(cover.upper, start, port)
            continue
        lane = lanes[cover.upper]
        channels[first].widen(cover.upper, start, lane)
        channels[last].widen(cover.upper, lane, port)
    for channel in channels:
        channel.settle()
    tops = [top]
    for channel in channels[:-1]:
        tops.append(tops[-1] + BOX_HEIGHT + channel.height)
    lines = tuple((cover, _points(cover, spots, channels, tops, out, ports, lanes)) for cover in covers)
    height = tops[count] if count else top
    widths = {name: box_width(spot.span) for name, spot in spots.items()}
    return Plan(left, {name: tops[spot.row] for name, spot in spots.items()}, widths, lines, height)


def _points(
    cover: CoverLine,
    spots: Mapping[str, Place],
    channels: Sequence[Channel],
    tops: Sequence[float],
    out: Mapping[CoverLine, float],
    ports: Mapping[CoverLine, float],
    lanes: Mapping[str, float],
) -> tuple[tuple[float, float], ...]:
    first, last = spots[cover.upper].row, spots[cover.lower].row - 1
    start, port = out[cover], ports[cover]
    leave, arrive = tops[first] + BOX_HEIGHT, tops[last + 1]

    def level(row: int) -> float:
        return tops[row] + BOX_HEIGHT + AIR + TRACK * channels[row].track[cover.upper]

    if first == last:
        if start == port:
            return ((start, leave), (port, arrive))
        return ((start, leave), (start, level(first)), (port, level(first)), (port, arrive))
    lane = lanes[cover.upper]
    if start == lane:
        return ((lane, leave), (lane, level(last)), (port, level(last)), (port, arrive))
    return (
        (start, leave),
        (start, level(first)),
        (lane, level(first)),
        (lane, level(last)),
        (port, level(last)),
        (port, arrive),
    )


def _ports(
    spots: Mapping[str, Place], covers: Iterable[CoverLine], left: Mapping[str, float]
) -> dict[CoverLine, float]:
    """Give each line its own point on the top edge of its lower part, in the order of where they come from."""
    arriving: dict[str, list[CoverLine]] = {}
    for cover in covers:
        arriving.setdefault(cover.lower, []).append(cover)
    ports = {}
    for lower, lines in arriving.items():
        middle = left[lower] + box_width(spots[lower].span) / 2
        lines.sort(key=lambda cover: (middle if spots[cover.upper].span > 1 else left[cover.upper], cover.upper))
        for number, cover in enumerate(lines):
            ports[cover] = middle + PORT * (number - (len(lines) - 1) / 2)
    return ports


def _outlets(
    spots: Mapping[str, Place],
    covers: Iterable[CoverLine],
    left: Mapping[str, float],
    ports: Mapping[CoverLine, float],
    lanes: Mapping[str, float],
) -> dict[CoverLine, float]:
    """Give the point where each line leaves its part: straight above where it goes if it can, else a shared one."""
    out = {}
    for cover in covers:
        upper = spots[cover.upper]
        near = spots[cover.lower].row == upper.row + 1
        goal = ports[cover] if near else lanes[cover.upper]
        start, stop = left[cover.upper], left[cover.upper] + box_width(upper.span)
        shared = start + BOX_WIDTH / 2 + PORT / 2 if upper.span == 1 else stop - BOX_WIDTH / 2
        out[cover] = goal if start + 4 < goal < stop - 4 and (near or upper.span > 1) else shared
    return out


def _lanes(spots: Mapping[str, Place], covers: Iterable[CoverLine], left: Mapping[str, float]) -> dict[str, float]:
    """Give each part whose covers reach past the next row one lane between two columns, near where it is needed."""
    far: dict[str, list[CoverLine]] = {}
    for cover in covers:
        if spots[cover.lower].row > spots[cover.upper].row + 1:
            far.setdefault(cover.upper, []).append(cover)
    used = [0] * (COLUMNS + 1)
    lanes = {}
    for upper, lines in far.items():
        ends = [left[cover.lower] + BOX_WIDTH / 2 for cover in lines]
        if spots[upper].span == 1:
            ends.append(left[upper] + BOX_WIDTH / 2)
        wanted = sum(ends) / len(ends)
        gap = min(range(COLUMNS + 1), key=lambda g: (abs(_gap_middle(g) - wanted) + 30 * used[g], g))
        lanes[upper] = _gap_middle(gap) + TRACK * _zigzag(used[gap])
        used[gap] += 1
    return lanes


def _gap_middle(gap: int) -> float:
    return MARGIN + gap * (BOX_WIDTH + GAP) + GAP / 2


def _zigzag(number: int) -> int:
    """0, 1, -1, 2, -2, then again from 0."""
    number %= 5
    return (number + 1) // 2 * (1 if number % 2 else -1)
