"""The swap matrix: columns, cells that matter, gaps in order, and what follows for the index."""

from __future__ import annotations

from datetime import date
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from unfasten.cli.swaptable import swap_lines
from unfasten.evidence.interval import Interval
from unfasten.record.record import Record
from unfasten.record.swaptest import SwapTest
from unfasten.service.assess import assess_record
from unfasten.service.load import load_record
from unfasten.service.swap import Line, Matrix, SwapFamily, swap_family, swaps_json
from unfasten.service.swap_page import swap_page

FOLDER = Path(__file__).parents[3] / "examples"
NAMES = ("tarn-9", "tarn-11", "tarn-11-plus")
DAY = date(2026, 6, 1)


def example(name: str) -> Record:
    return load_record(FOLDER / f"{name}.yaml")


@cache
def family() -> SwapFamily:
    return swap_family([example(name) for name in NAMES], DAY)


def line(matrix: Matrix, part: str) -> Line:
    return next(one for one in matrix.lines if one.part == part)


def with_tests(record: Record, tests: dict[str, dict[str, Any]]) -> Record:
    made = {name: SwapTest.model_validate(test) for name, test in tests.items()}
    return record.model_copy(update={"swap_tests": made})


def test_columns_are_the_model_each_sibling_and_other_makers() -> None:
    assert [(c.source, c.product) for c in family().matrices[1].columns] == [
        ("same-model", "tarn-11"),
        ("sibling", "tarn-9"),
        ("sibling", "tarn-11-plus"),
        ("other-maker", None),
    ]


def test_a_record_alone_has_a_column_for_each_sibling_that_its_tests_name() -> None:
    (matrix,) = swap_family([example("tarn-11")], DAY).matrices
    assert [c.product for c in matrix.columns if c.source == "sibling"] == ["tarn-11-plus", "tarn-9"]


def test_a_record_without_tests_has_one_column_for_siblings() -> None:
    (matrix,) = swap_family([with_tests(example("tarn-11"), {})], DAY).matrices
    assert [c.source for c in matrix.columns] == ["same-model", "sibling", "other-maker"]
    assert matrix.state == "provisional"
    assert matrix.filled[0] == 0


def test_cells_of_the_display_of_the_tarn_11() -> None:
    display = line(family().matrices[1], "display-assembly")
    assert [cell.state for cell in display.cells] == ["after-pairing", "untested", "untested", "untested"]
    # the display of the Plus is 37 mm longer: nobody has to try that
    assert [cell.answer for cell in display.cells] == [None, "not shown", "does not fit", None]
    assert [cell.is_gap for cell in display.cells] == [False, True, False, True]


def test_a_part_that_measures_as_not_fitting_is_no_gap() -> None:
    battery = line(family().matrices[1], "battery")
    assert [cell.answer for cell in battery.cells] == [None, "does not fit", "does not fit", None]
    assert not any(cell.is_gap for cell in battery.cells)


def test_a_button_need_not_be_tested_under_power() -> None:
    button = line(family().matrices[1], "power-button")
    assert [cell.state for cell in button.cells] == ["untested", "not-powered", "not-powered", "untested"]
    assert not any(cell.is_gap for cell in button.cells)


def test_gaps_come_in_the_order_of_what_hangs_on_them() -> None:
    stakes = [float(gap.points or 0) for gap in family().gaps]
    assert stakes == sorted(stakes, reverse=True)
    assert stakes[0] > 0
    first = family().gaps[0]
    assert (first.record, first.part, first.column.source) == (2, "display-assembly", "same-model")


def bounds(points: Interval | None) -> tuple[float, float]:
    assert points is not None
    return float(points.low), float(points.high)


def test_untested_pairing_widens_the_index_downwards_only() -> None:
    for matrix in family().matrices:
        recorded, opened = bounds(matrix.recorded), bounds(matrix.opened)
        assert opened[0] < recorded[0]
        assert opened[1] == recorded[1]
        assert matrix.tested == matrix.recorded  # every test of the examples confirms what the record lists


def test_with_every_part_tested_the_index_is_the_recorded_one() -> None:
    record = example("tarn-9")
    tests = {
        f"t-{name}": {"part": name, "donor": {"source": "same-model"}, "accepted": "full", "software": "1"}
        for name, part in record.parts.items()
        if part.role is not None
    }
    (matrix,) = swap_family([with_tests(record, tests)], DAY).matrices
    assert matrix.opened == matrix.tested == matrix.recorded


def test_a_contradicting_test_moves_the_index_as_the_pairing_would() -> None:
    record = example("tarn-9")
    ask = {"part": "battery", "donor": {"source": "same-model"}, "accepted": "full", "software": "1",
           "asked": ["notification"]}  # fmt: skip
    tests = {
        f"t-{name}": {"part": name, "donor": {"source": "same-model"}, "accepted": "full", "software": "1"}
        for name, part in record.parts.items()
        if part.role is not None and name != "battery"
    }
    (matrix,) = swap_family([with_tests(record, tests | {"ask": ask})], DAY).matrices
    assert [fact.part for fact in matrix.contradictions] == ["battery"]
    paired = record.parts["battery"].model_copy(update={"pairing": ("notification",)})
    changed = record.model_copy(update={"parts": {**record.parts, "battery": paired}, "swap_tests": {}})
    assert matrix.tested == matrix.opened == assess_record(changed, DAY).points != matrix.recorded
    assert matrix.tested == assess_record(with_tests(record, tests | {"ask": ask}), DAY).points


def test_a_test_that_leaves_pairing_open_is_to_be_repeated() -> None:
    dim = {"part": "battery", "donor": {"source": "same-model"}, "accepted": "limited", "lost": ["charge limit"],
           "software": "1"}  # fmt: skip
    (matrix,) = swap_family([with_tests(example("tarn-9"), {"dim": dim})], DAY).matrices
    (cell, *_) = line(matrix, "battery").cells
    assert (cell.state, cell.is_gap) == ("limited", True)
    assert [fact.part for fact in matrix.contradictions] == ["battery"]
    tested, recorded = bounds(matrix.tested), bounds(matrix.recorded)
    assert tested[0] < recorded[0]
    assert tested[1] == recorded[1]
    text = "\n".join(swap_lines(swap_family([with_tests(example("tarn-9"), {"dim": dim})], DAY)))
    assert "look again: battery: swap test dim leaves it open" in text
    assert "limited *" in text
    family_ = swap_family([with_tests(example("tarn-9"), {"dim": dim})], DAY)
    (gap,) = [gap for gap in family_.gaps if gap.part == "battery" and gap.column.source == "same-model"]
    assert gap.why.endswith("the tests so far leave it open")
    assert gap.points is not None
    assert gap.points > 0


def test_the_matrix_is_complete_when_every_cell_that_matters_is_filled() -> None:
    record = with_tests(example("tarn-11"), {})
    (open_,) = swap_family([record], DAY).matrices
    wanted = [
        (one.part, column)
        for one in open_.lines
        for column, cell in zip(open_.columns, one.cells, strict=True)
        if cell.why
    ]
    tests = {
        f"t-{number}": {
            "part": part,
            "donor": {"source": column.source},
            "fitted": "fits",
            "accepted": "full",
            "software": "1",
        }
        for number, (part, column) in enumerate(wanted)
    }
    found = swap_family([with_tests(record, tests)], DAY)
    assert found.matrices[0].state == "complete"
    assert found.gaps == ()
    assert swap_page([with_tests(record, tests)], DAY).state == "complete"


def test_json_says_which_cells_matter() -> None:
    out = swaps_json(family())
    parts = out["records"][1]["parts"]  # type: ignore[index]
    display = next(part for part in parts if part["part"] == "display-assembly")
    assert display["cells"][0] == {
        "state": "after-pairing",
        "tests": ["display-second-unit"],
        "matters": "a priority part: decides the steps that pairing adds",
        "exchange": None,
    }


@pytest.mark.parametrize("number", range(3))
def test_the_page_shows_what_the_matrix_holds(number: int) -> None:
    page = swap_page([example(name) for name in NAMES], DAY)
    matrix, table = family().matrices[number], page.tables[number]
    assert [row.part for row in table.rows] == [one.part for one in matrix.lines]
    assert [[cell.is_gap for cell in row.cells] for row in table.rows] == [
        [cell.is_gap for cell in one.cells] for one in matrix.lines
    ]
    assert table.filled == f"{matrix.filled[0]} of {matrix.filled[1]}"
