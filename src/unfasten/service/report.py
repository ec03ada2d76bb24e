"""The report of a record: build its context once, render it as HTML and PDF, write both or none."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from pathlib import Path

from unfasten.record.fold import fold_log
from unfasten.record.record import Record
from unfasten.report.model.report import Report
from unfasten.routes.result import Reach
from unfasten.routes.unknown import unknown_covers
from unfasten.rules.assessment import Assessment
from unfasten.service.cautions import stop_of
from unfasten.service.report_method import method
from unfasten.service.report_operations import as_caution, procedures
from unfasten.service.report_routes import depth_chart
from unfasten.service.report_score import Rating, rate, rating_of
from unfasten.service.report_sheet import summary, title_block
from unfasten.service.report_structure import structure
from unfasten.service.report_tables import batteries, fasteners, log_rows, tools
from unfasten.service.routes import reach_of
from unfasten.service.writing import write_pages


def write_report(
    record: Record,
    out_dir: Path,
    on: date,
    reaches: Mapping[str, Reach] | None = None,
    assessment: Assessment | None = None,
) -> tuple[Path, Path]:
    """Write `<product id>.html` and `<product id>.pdf` into `out_dir`, both or none, and give their paths.

    Routes and assessment are computed unless given. Raises `CallError` where the folder cannot be written to.
    """
    from unfasten.report.html import render_html
    from unfasten.report.pdf import render_pdf

    context = build_report(record, on, reaches, assessment)
    html = render_html(context).encode("utf-8")
    pdf = render_pdf(context, on)
    name = record.product.id
    written = write_pages(out_dir, {f"{name}.html": html, f"{name}.pdf": pdf})
    return written[0], written[1]


def build_report(
    record: Record, on: date, reaches: Mapping[str, Reach] | None = None, assessment: Assessment | None = None
) -> Report:
    """Give the report's context; routes and assessment are computed unless given."""
    known = reach_of(record) if reaches is None else reaches
    rating = rate(record, known, on) if assessment is None else rating_of(record, assessment, on)
    return report_context(record, known, rating, on)


def report_context(record: Record, reaches: Mapping[str, Reach], rating: Rating, on: date) -> Report:
    """Give the report's context from routes and rating already computed."""
    folded = fold_log(record)
    unknown = unknown_covers(folded)
    stop = stop_of(folded)
    return Report(
        title=title_block(folded, rating.index.rules, on),
        summary=summary(folded, reaches, rating),
        stop=as_caution(stop) if stop else None,
        index=rating.index,
        depth=depth_chart(folded, reaches, rating.steps, rating.beyond, stop is not None),
        structure=structure(folded, unknown, reaches),
        procedures=procedures(folded, unknown, reaches),
        fasteners=fasteners(folded),
        tools=tools(folded, reaches),
        batteries=batteries(folded),
        log=log_rows(folded),
        method=method(folded, unknown, reaches, rating.sources),
    )
