"""The rendered photographs are as true as what is tested on them: areas and edges of a drawing."""

from __future__ import annotations

import numpy as np
import pytest

from unfasten.photo.rendered import PAPER, Sheet


@pytest.mark.parametrize("shift", [0.0, 0.013, 0.07, 0.119, 0.2])
def test_edges_along_the_rows_lie_where_they_are_drawn(shift: float) -> None:
    """An edge between two rows is not drawn to the nearest eighth: its share of light is its share of the pixel."""
    sheet = Sheet(np.full((80, 120), PAPER, np.float32), 4.0)
    sheet.polygon(np.array([[5.0, 4], [25, 4], [25, 14], [5, 14]]) + shift, 0.0)
    dark = 1 - sheet.light / PAPER
    y, x = np.mgrid[:80, :120]
    area = float(dark.sum()) / 16
    assert area == pytest.approx(200, abs=0.25)
    for axis, middle in ((x, 15 + shift), (y, 9 + shift)):
        assert float(((axis + 0.5) / 4 * dark).sum()) / 16 / area == pytest.approx(middle, abs=0.004)
