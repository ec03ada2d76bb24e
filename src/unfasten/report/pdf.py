"""The report as an A4 PDF through typst: the same context as the HTML, handed over as JSON and never as markup.

The file declares PDF/A-2a and PDF/UA-1; no validator was at hand, so conformance is declared, not validated. Only the
fonts bundled with the engine are used, so the same context on the same day gives the same bytes.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from dataclasses import fields, is_dataclass
from datetime import UTC, date, datetime
from decimal import Decimal
from pathlib import Path
from typing import Any, Final

from unfasten.report.figures.depth import depth_figure, depth_line
from unfasten.report.figures.scale import index_band, small_band
from unfasten.report.figures.structure import structure_figure
from unfasten.report.figures.svg import PAPER
from unfasten.report.glyphs import SQUARE, breakable, drawable, latin
from unfasten.report.model.report import Report
from unfasten.report.model.score import ScoreNode
from unfasten.report.model.span import Span

TEMPLATES: Final = Path(__file__).parent / "templates"
STANDARDS: Final = ("a-2a", "ua-1")
#: what the engine says where a font lacks a character or cannot tell what a drawn sign stands for
GLYPHS_MISSING: Final = ("could not be displayed", "missing codepoints")


def render_pdf(report: Report, on: date) -> bytes:
    """Render the report; `on` is the day written into the file, so the same context and day give the same bytes.

    Characters that the bundled fonts lack become empty squares; if the engine still finds one that it cannot write as
    text, everything but Latin letters does.
    """
    from typst import TypstError

    try:
        return _compile(report, on, drawable)
    except TypstError as error:
        if not any(word in str(error) for word in GLYPHS_MISSING):
            raise
        return _compile(report, on, latin)


def _compile(report: Report, on: date, draw: Callable[[str], str]) -> bytes:
    import typst

    data = plain(report, lambda text: breakable(draw(text)))
    data["squares"] = SQUARE in json.dumps(data, ensure_ascii=False)
    data["figures"] = _figures(report, draw)
    return bytes(
        typst.compile(
            TEMPLATES / "report.typ",
            root=TEMPLATES,
            ignore_system_fonts=True,
            format="pdf",
            sys_inputs={"data": json.dumps(data, ensure_ascii=False)},
            pdf_standards=list(STANDARDS),
            timestamp=datetime(on.year, on.month, on.day, tzinfo=UTC),
        )
    )


def plain(value: object, clean: Callable[[str], str]) -> Any:
    """Turn contexts into dictionaries and lists of text, whole numbers and truth values; texts go through `clean`."""
    if isinstance(value, str):
        return clean(value)
    if is_dataclass(value):
        return {item.name: plain(getattr(value, item.name), clean) for item in fields(value)}
    if isinstance(value, tuple | list):
        return [plain(item, clean) for item in value]
    return str(value) if isinstance(value, Decimal) else value


def _figures(report: Report, draw: Callable[[str], str]) -> dict[str, object]:
    """Draw every figure for paper; scores are keyed by their ends, depth lines are in the order of the summary."""
    band = report.summary.band
    rows = {row.part: row for row in report.depth.rows}
    return {
        "band": draw(index_band(band, PAPER)) if band else "",
        "depth": draw(depth_figure(report.depth, PAPER)),
        "structure": draw(structure_figure(report.structure, PAPER)),
        "small": {_ends(span): small_band(span, style=PAPER) for span in _spans(report.index.tree)},
        "lines": [draw(depth_line(report.depth, rows[key.part], PAPER)) for key in report.summary.depths],
    }


def _ends(span: Span) -> str:
    return f"{span.low}|{span.high}"


def _spans(nodes: tuple[ScoreNode, ...]) -> Iterator[Span]:
    for node in nodes:
        yield node.span
        yield from _spans(node.children)
