"""Pages about several records as one HTML file each: the comparison and the swap matrix."""

from __future__ import annotations

from unfasten.report.html import environment
from unfasten.report.model.comparison import ComparePage
from unfasten.report.model.swaps import SwapPage


def render_compare(page: ComparePage) -> str:
    """Render the comparison; the same context gives the same text."""
    return environment().get_template("compare.html.j2").render(report=page)


def render_swaps(page: SwapPage) -> str:
    """Render the swap matrix; the same context gives the same text."""
    return environment().get_template("swaps.html.j2").render(report=page)
