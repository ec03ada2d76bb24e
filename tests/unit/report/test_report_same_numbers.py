"""HTML and PDF are renderings of one context: they show the same figures."""

from __future__ import annotations

import io
import re
from functools import cache
from html import unescape

import pytest
from pypdf import PdfReader

from support.report_record import DAY, tarn_report
from unfasten.report.html import render_html
from unfasten.report.model.procedure import Procedure
from unfasten.report.pdf import render_pdf


@cache
def html() -> str:
    page = re.sub(r"<(style|script|svg)\b.*?</\1>", " ", render_html(tarn_report()), flags=re.DOTALL)
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", page)).split())


@cache
def pdf() -> str:
    pages = PdfReader(io.BytesIO(render_pdf(tarn_report(), DAY))).pages
    return " ".join(" ".join(page.extract_text() for page in pages).replace("\u200b", "").split())


def test_index_and_scores() -> None:
    def walk(nodes: object) -> None:
        for node in nodes:  # type: ignore[attr-defined]
            assert node.span.text in html()
            assert node.span.text in pdf()
            walk(node.children)

    walk(tarn_report().index.tree)


def test_depths_and_times() -> None:
    for row in tarn_report().depth.rows:
        for figure in (row.steps.text, row.time.text):
            assert figure in html()
            assert figure in pdf()


@pytest.mark.parametrize("sheet", tarn_report().procedures, ids=lambda sheet: sheet.part)
def test_operations(sheet: Procedure) -> None:
    for row in sheet.operations:
        figures = f"{row.time} {row.steps} {row.so_far}"
        assert figures in html()
        assert figures in pdf()
