"""The sheets about several records: every field has help, nothing harmful gets through, figures are the same."""

from __future__ import annotations

from datetime import date
from functools import cache
from pathlib import Path

import pytest

from unfasten.record.record import Record
from unfasten.report.model.comparison import ComparePage
from unfasten.report.model.fields import contexts, helps
from unfasten.report.model.swaps import SwapPage
from unfasten.report.pages import render_compare, render_swaps
from unfasten.service.compare_page import compare_page
from unfasten.service.compare_tables import percent
from unfasten.service.load import load_record
from unfasten.service.swap_page import swap_page

FOLDER = Path(__file__).parents[3] / "examples"
NAMES = ("tarn-9", "tarn-11", "tarn-11-plus")
DAY = date(2026, 6, 1)
HARMFUL = "<script>alert(1)</script>\u202e & \"x'"


def example(name: str) -> Record:
    return load_record(FOLDER / f"{name}.yaml")


@cache
def page() -> ComparePage:
    return compare_page([example(name) for name in NAMES], DAY)


@pytest.mark.parametrize("root", [ComparePage, SwapPage])
def test_every_field_has_help(root: type) -> None:
    assert [(one.__name__, name) for one in contexts(root) for name, text in helps(one).items() if not text] == []


def test_every_record_has_a_column_everywhere() -> None:
    for table in (page().depths, page().times, page().scores):
        assert {len(row.cells) for row in table.rows} == {3}
    assert {len(row.cells) for row in page().parts} == {3}


def test_the_scale_holds_every_figure() -> None:
    for table in (page().depths, page().times, page().scores):
        for row in table.rows:
            for cell in row.cells:
                assert cell is None or (cell.low is not None and table.least <= cell.low <= (cell.high or cell.low))
                assert cell is None or cell.high is None or cell.high <= table.most


def test_the_battery_of_the_tarn_11_is_drawn_as_an_interval() -> None:
    row = next(row for row in page().depths.rows if row.name.startswith("Battery"))
    assert [cell.text if cell else "" for cell in row.cells] == ["4–7", "8–11", "13–14"]
    assert all(cell.open for cell in row.cells if cell)


def test_exchanges_stand_with_the_possible_ones_first() -> None:
    answers = [row.answer for row in page().exchanges]
    order = ["fits", "fits with change", "not shown", "does not fit"]
    assert answers == sorted(answers, key=order.index)
    assert {row.part for row in page().pools} >= {"Rear camera", "Card tray", "Charging port"}


def test_the_page_is_whole_and_fetches_nothing() -> None:
    text = render_compare(page())
    assert text.rstrip().endswith("</html>")
    assert "src=" not in text
    assert text.count("<table") == text.count("</table>")
    for step in page().steps:
        assert step.title in text


def test_names_cannot_break_the_pages() -> None:
    record = example("tarn-11")
    product = record.product.model_copy(update={"name": HARMFUL, "maker": HARMFUL})
    parts = {name: part.model_copy(update={"name": HARMFUL + name}) for name, part in record.parts.items()}
    hostile = record.model_copy(update={"product": product, "parts": parts})
    for text in (
        render_compare(compare_page([example("tarn-9"), hostile], DAY)),
        render_swaps(swap_page([example("tarn-9"), hostile], DAY)),
    ):
        assert "<script>" not in text
        assert "\u202e" not in text


def test_two_editions_of_one_record_are_compared() -> None:
    record = example("tarn-11")
    later = record.model_copy(update={"sheet": record.sheet.model_copy(update={"edition": 3})})
    found = compare_page([record, later], DAY)
    assert found.steps[0].lead == "No difference."
    assert [head.sheet for head in found.records] == ["edition 2, provisional", "edition 3, provisional"]
    assert "No difference." in render_compare(found)


@pytest.mark.parametrize(
    ("share", "text"), [(1.0, "> 99.9 %"), (0.6626, "66.3 %"), (0.0, "< 0.1 %"), (0.9995, "> 99.9 %")]
)
def test_a_probability_is_never_rounded_to_certainty(share: float, text: str) -> None:
    assert percent(share) == text
