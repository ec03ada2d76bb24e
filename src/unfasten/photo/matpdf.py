"""The bench mat as a PDF at 1:1, through typst; all lengths are those of `mat.py`."""

from __future__ import annotations

import json
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Final

from unfasten.photo.markers import bits_of
from unfasten.photo.mat import CHECK_LINE, Box, Mat

TEMPLATE: Final = Path(__file__).parent / "templates" / "mat.typ"


def mat_pdf(mat: Mat, on: date, program: str) -> bytes:
    """Draw the mat; the same mat, day and program give the same bytes. `program` is named in the title block."""
    import typst

    data = {
        "size": mat.size,
        "width": mat.width,
        "height": mat.height,
        "markers": [_marker(number, box) for number, box in mat.markers.items()],
        "field": _box(mat.field),
        "cells": [_box(box) for box in mat.cells],
        "title": _box(mat.title),
        "lines": [_box(box) for box in mat.check_lines],
        "check": CHECK_LINE,
        "on": on.isoformat(),
        "program": program,
    }
    return bytes(
        typst.compile(
            TEMPLATE,
            root=TEMPLATE.parent,
            ignore_system_fonts=True,
            format="pdf",
            sys_inputs={"data": json.dumps(data, ensure_ascii=False)},
            pdf_standards=["a-2a", "ua-1"],
            timestamp=datetime(on.year, on.month, on.day, tzinfo=UTC),
        )
    )


def _box(box: Box) -> dict[str, float]:
    return {"x": box.x, "y": box.y, "w": box.width, "h": box.height}


def _marker(number: int, box: Box) -> dict[str, object]:
    """A black square, and the white modules on it joined into bars along each row, so that no seams show."""
    rows = bits_of(number)
    cell = box.width / len(rows)
    bars = []
    for row, line in enumerate(rows):
        start = None
        for column, bit in enumerate((*line, "0")):
            if bit == "1" and start is None:
                start = column
            elif bit == "0" and start is not None:
                bars.append({"x": start * cell, "y": row * cell, "w": (column - start) * cell, "h": cell})
                start = None
    return {"number": number, **_box(box), "bars": bars}
