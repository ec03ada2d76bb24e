"""The report as one HTML file: style, script and drawings inside, nothing fetched from anywhere."""

from __future__ import annotations

from functools import cache

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from unfasten.report.figures.depth import depth_figure, depth_line
from unfasten.report.figures.scale import index_band, small_band
from unfasten.report.figures.structure import structure_figure
from unfasten.report.model.report import Report

FIGURES = {
    "index_band": index_band,
    "small_band": small_band,
    "depth_figure": depth_figure,
    "depth_line": depth_line,
    "structure_figure": structure_figure,
}


@cache
def environment() -> Environment:
    """Give the template environment of the reports."""
    env = templates_of("unfasten.report")
    env.filters["css_text"] = css_text
    return env


def templates_of(package: str) -> Environment:
    """The templates of a package: all is escaped, a name that the context lacks is an error, figures are drawn."""
    env = Environment(
        loader=PackageLoader(package, "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    for name, figure in FIGURES.items():
        env.filters[name] = lambda *given, draw=figure: Markup(draw(*given))
    return env


def css_text(value: str) -> Markup:
    """Write text for a quoted CSS string: all but letters, digits and blanks as escapes by code point."""
    return Markup("".join(char if char.isascii() and char.isalnum() else f"\\{ord(char):x} " for char in value))


def render_html(report: Report) -> str:
    """Render the report; the same context gives the same text."""
    return environment().get_template("report.html.j2").render(report=report)


def figure_css() -> str:
    """The palette and the look of the drawings, for pages that are not a report."""
    return "".join(environment().get_template(f"{name}.css.j2").render() for name in ("palette", "figures"))
