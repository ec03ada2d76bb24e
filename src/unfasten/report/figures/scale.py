"""An index or score on its scale: the known part solid, the open part hatched, class borders as ticks."""

from __future__ import annotations

from decimal import Decimal
from typing import Final

from unfasten.report.figures.svg import drawing, element, hatched, line, rect, text
from unfasten.report.model.score import Band
from unfasten.report.model.span import Span

WIDTH: Final = 640.0
LEFT: Final = 20.0
SPAN: Final = 600.0


def index_band(band: Band, style: str = "") -> str:
    """Draw the index on its scale with the classes above and the numbers below."""
    ends = [*(border.start for border in band.borders[1:]), band.most]
    body = [line(_x(band, band.least), 62, _x(band, band.most), 62, "line")]
    for border, end in zip(band.borders, ends, strict=False):
        start, stop = _x(band, border.start), _x(band, end)
        body.append(rect(start, 14, stop - start, 20, "box"))
        body.append(text((start + stop) / 2, 28.5, border.letter, "strong", "middle"))
        body.append(line(start, 34, start, 66, "hair"))
        body.append(text(start, 78, str(border.start), "mono", "middle"))
    body.append(line(_x(band, band.most), 14, _x(band, band.most), 66, "hair"))
    body.append(text(_x(band, band.most), 78, f"{band.most}.00", "mono", "middle"))
    body.append(element("g", _bar(band), cls="band"))
    return drawing(WIDTH, 84, "".join(body), f"Index {band.span.text}, {band.word}, on a scale of 1 to 5", style)


def _bar(band: Band) -> str:
    low, high = band.span.low, band.span.high
    if low is None:
        return ""
    start, stop = _x(band, band.least), _x(band, low)
    parts = [rect(start, 42, stop - start, 14, "known"), line(stop, 38, stop, 62, "end")]
    if high is not None and high > low:
        parts += [hatched(stop, 42, _x(band, high) - stop, 14), line(_x(band, high), 38, _x(band, high), 62, "end")]
    return "".join(parts)


def _x(band: Band, value: Decimal) -> float:
    share = (value - band.least) / (band.most - band.least)
    return LEFT + float(share) * SPAN


def small_band(span: Span, least: Decimal = Decimal(1), most: Decimal = Decimal(5), style: str = "") -> str:
    """Draw a score in a table row: points as ticks, known part solid, open part hatched."""
    ticks = [line(x, 1, x, 11, "hair") for x in (1 + 24.5 * step for step in range(5))]
    body = "".join(ticks) + line(1, 11, 99, 11, "hair")
    if span.low is not None:
        stop = _small(span.low, least, most)
        body += element("g", _small_bar(span, stop, least, most), cls="band")
    return drawing(100, 12, body, f"{span.text} on a scale of {least} to {most}", style)


def _small_bar(span: Span, stop: float, least: Decimal, most: Decimal) -> str:
    bar = rect(1, 3, max(stop - 1, 1.2), 6, "known")
    if span.high is not None and span.low is not None and span.high > span.low:
        bar += hatched(stop, 3, _small(span.high, least, most) - stop, 6, 3.0)
    return bar


def _small(value: Decimal, least: Decimal, most: Decimal) -> float:
    return 1 + 98 * float((value - least) / (most - least))
