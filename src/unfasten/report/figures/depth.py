"""The depth chart: every part from the surface down to its low, hatched on to its high."""

from __future__ import annotations

from dataclasses import dataclass
from html import escape
from typing import Final

from unfasten.report.figures.svg import drawing, element, hatched, line, rect, text
from unfasten.report.model.depth import DepthChart, RouteRow

#: width on the screen; print takes a narrower drawing, so that its rows are taller
WIDTH: Final = 960.0
PRINT: Final = 760.0
LEFT: Final = 212.0
RIGHT: Final = 70.0
TOP: Final = 54.0
ROW: Final = 18.0
NAME: Final = 34


@dataclass(frozen=True, slots=True)
class Axis:
    """The axis of steps: how many it shows and over what width."""

    longest: int
    width: float

    def x(self, steps: float) -> float:
        """Place of a number of steps."""
        return LEFT + (self.end - LEFT) * steps / self.longest

    @property
    def end(self) -> float:
        """Right end of the axis."""
        return self.width - RIGHT


def depth_figure(chart: DepthChart, style: str = "") -> str:
    """Draw the chart, one row per part, the surface at the left, deeper to the right."""
    axis = Axis(chart.longest, PRINT if style else WIDTH)
    height = TOP + ROW * len(chart.rows) + 26
    body = [_bands(chart, axis, height - 20), _axis(axis, height - 20)]
    body += [_row(axis, row, TOP + ROW * place) for place, row in enumerate(chart.rows)]
    label = f"Depth of {len(chart.rows)} parts in steps; the route table gives the same figures"
    return drawing(axis.width, height, "".join(body), label, style)


def _bands(chart: DepthChart, axis: Axis, bottom: float) -> str:
    parts, before = [], 0
    for band in chart.bands:
        if before >= chart.longest:
            break
        x, end = axis.x(band.upto), axis.x(min(band.upto, chart.longest))
        parts.append(text((axis.x(before) + end) / 2, 14, f"{band.points} points", "small soft", "middle"))
        if band.upto <= chart.longest:
            parts.append(line(x, 6, x, bottom, "faint"))
        before = band.upto
    if chart.bands and before < chart.longest:
        middle = (axis.x(before) + axis.x(chart.longest)) / 2
        word = "point" if chart.beyond == "1" else "points"
        parts.append(text(middle, 14, f"{chart.beyond} {word}", "small soft", "middle"))
    return "".join(parts)


def _axis(axis: Axis, bottom: float) -> str:
    parts = [line(LEFT, 22, LEFT, bottom, "thick"), text(LEFT - 8, 38, "surface", "small soft", "end")]
    parts.append(line(LEFT, 44, axis.end, 44, "hair"))
    parts.append(text(axis.end + 12, 38, "steps", "small soft"))
    step = 1 if axis.longest <= 24 else 5
    for steps in range(step, axis.longest + 1, step):
        x = axis.x(steps)
        parts += [line(x, 41, x, 47, "hair"), text(x, 37, str(steps), "mono soft", "middle")]
    return "".join(parts)


def _row(axis: Axis, row: RouteRow, y: float) -> str:
    name = row.name if len(row.name) <= NAME else row.name[: NAME - 1] + "…"
    parts = [element("title", _title(row)), text(LEFT - 8, y + 12.5, name, "strong" if row.priority else "", "end")]
    low, high = row.steps.low, row.steps.high
    if low is None:
        parts.append(text(LEFT + 6, y + 12.5, "not reachable", "small soft"))
        return element("g", "".join(parts), cls=_cls(row), data_part=row.part)
    stop = axis.x(float(low))
    end = axis.x(axis.longest) if high is None else axis.x(float(high))
    parts.append(rect(LEFT, y + 4, stop - LEFT, 9, "known"))
    if end > stop:
        parts.append(hatched(stop, y + 4, end - stop, 9))
    parts.append(text(end + 6, y + 12.5, row.steps.text, "mono strong" if row.priority else "mono"))
    return element("g", "".join(parts), cls=_cls(row), data_part=row.part)


def _cls(row: RouteRow) -> str:
    return "prime" if row.priority else "plain"


def _title(row: RouteRow) -> str:
    return escape(f"{row.name}: {row.steps.text} steps")


def depth_line(chart: DepthChart, row: RouteRow, style: str = "") -> str:
    """Draw the depth of one part on the scale of the rules, for the summary."""
    most = max(chart.longest, *(band.upto + 1 for band in chart.bands)) if chart.bands else chart.longest
    body = [line(2, 24, 358, 24, "hair"), line(2, 4, 2, 28, "thick")]
    for band in chart.bands:
        x = 2 + 356 * band.upto / most
        body += [line(x, 4, x, 28, "faint"), text(x, 38, str(band.upto), "mono soft", "middle")]
    if row.steps.low is not None:
        stop = 2 + 356 * float(row.steps.low) / most
        end = 358.0 if row.steps.high is None else 2 + 356 * float(row.steps.high) / most
        body.append(rect(2, 9, stop - 2, 10, "known"))
        body.append(hatched(stop, 9, end - stop, 10) if end > stop else "")
    group = element("g", "".join(body), cls="prime")
    return drawing(380, 42, group, f"{row.name}: {row.steps.text} steps", style)
