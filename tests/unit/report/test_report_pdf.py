"""The PDF rendering: A4 sheets with title block and number, tagged, the same bytes twice, harmless whatever the names.

Invisible places to break are taken out before texts are compared.
"""

from __future__ import annotations

import io
from dataclasses import fields
from datetime import date
from functools import cache

import pytest
from pypdf import PdfReader

from support.report_record import DAY, bench_report, tarn_report
from support.small_record import record
from unfasten.report.pdf import render_pdf
from unfasten.service.report import build_report

A4 = (595, 842)


@cache
def tarn() -> PdfReader:
    return PdfReader(io.BytesIO(render_pdf(tarn_report(), DAY)))


@cache
def texts() -> tuple[str, ...]:
    return tuple(" ".join(page.extract_text().replace("\u200b", "").split()) for page in tarn().pages)


def test_every_sheet_is_a4() -> None:
    sizes = {(round(float(p.mediabox.width)), round(float(p.mediabox.height))) for p in tarn().pages}
    assert sizes == {A4, A4[::-1]}


def test_every_sheet_has_its_number_and_title_block() -> None:
    title, count = tarn_report().title, len(texts())
    for number, text in enumerate(texts(), 1):
        assert f"sheet {number} of {count}" in text
        for value in fields(title):
            shown = getattr(title, value.name)
            assert (shown.upper() if value.name == "state" else shown) in text, (number, value.name)


def test_file_is_tagged_and_declares_its_standards() -> None:
    catalog = tarn().trailer["/Root"]
    assert bool(catalog["/MarkInfo"]["/Marked"])
    assert catalog["/Lang"] == "en"
    assert "/StructTreeRoot" in catalog
    declared = catalog["/Metadata"].get_data().decode("utf-8")
    assert "<pdfaid:part>2</pdfaid:part>" in declared
    assert "<pdfuaid:part>1</pdfuaid:part>" in declared
    assert tarn().metadata is not None
    assert tarn().metadata.title == "Tarn 11: disassembly and repairability"


def test_same_context_and_day_give_the_same_bytes() -> None:
    first = render_pdf(bench_report(), DAY)
    assert render_pdf(bench_report(), DAY) == first
    assert render_pdf(bench_report(), date(2026, 3, 10)) != first


def test_every_part_and_joint_is_printed() -> None:
    whole = " ".join(texts())
    report = tarn_report()
    for row in report.depth.rows:
        assert row.name in whole
    for group in report.fasteners:
        for joint in group.rows:
            assert joint.name in whole


@pytest.mark.parametrize(
    ("name", "printed"),
    [
        ("<script>alert(1)</script>", "<script>alert(1)</script>"),
        ('#import "x" #panic() $x$ *b* _i_ `r` // c @a', '#import "x" #panic() $x$ *b* _i_ `r` // c @a'),
        ('#read("/etc/passwd")', '#read("/etc/passwd")'),
        ("\\ ' \" ]] }) //", "\\ ' \" ]] }) //"),
        ("電池 pack", "□□ pack"),
        ("🔋 cell", "□ cell"),
        ("left\u202eright", "left\ufffdright"),
        ("Überzug čeština Ж Ω ½ ≥", "Überzug čeština Ж Ω ½ ≥"),
    ],
)
def test_hostile_names_are_printed_as_text(name: str, printed: str) -> None:
    parts = {"lid": {"name": name, "role": "battery", "note": name}}
    joints = {"screw": {"name": name, "holds": ["lid", "frame"], "where": name, "ways": [{"tools": ["a"]}]}}
    more = {"product": {"name": name, "maker": name}, "sheet": {"owner": name, "by": name}}
    report = build_report(record(parts, joints, log=[{"do": "note", "text": name}], **more), DAY)
    reader = PdfReader(io.BytesIO(render_pdf(report, DAY)))
    words = " ".join(" ".join(page.extract_text().replace("\u200b", "").split()) for page in reader.pages)
    assert printed in words


@pytest.mark.parametrize("name", ["العربية עברית", "z\u0301\u0301\u0301", "\u0301", "a\u200db", "ﬁ\ufb03", "x" * 3000])
def test_names_that_are_hard_to_set_do_not_break_the_print(name: str) -> None:
    report = build_report(record({"lid": {"name": name, "role": "speaker"}}, {"s": ("lid frame",)}), DAY)
    assert render_pdf(report, DAY).startswith(b"%PDF-")


def test_squares_are_explained_where_they_stand_and_only_there() -> None:
    note = "An empty square stands for a character"
    assert note not in " ".join(texts())
    report = build_report(record({"lid": {"name": "電池"}}, {"s": ("lid frame",)}), DAY)
    pages = PdfReader(io.BytesIO(render_pdf(report, DAY))).pages
    assert note in " ".join(" ".join(page.extract_text().split()) for page in pages)


def test_stop_notice_takes_the_place_of_every_procedure() -> None:
    reader = PdfReader(io.BytesIO(render_pdf(bench_report("damaged"), DAY)))
    words = " ".join(" ".join(page.extract_text().split()) for page in reader.pages)
    assert words.count("STOP") >= 2 + len(bench_report().procedures)
    assert "Renew on reassembly" not in words
