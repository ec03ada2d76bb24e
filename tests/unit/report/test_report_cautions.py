"""Cautions follow from the record, name a source or say that they are common practice, and are never left out."""

from __future__ import annotations

import pytest

from support.report_record import DAY, bench_record, bench_report
from support.small_record import record
from unfasten.record.record import Record
from unfasten.routes.result import Action
from unfasten.service.cautions import action_cautions, cares, deference, product_cautions, stop_of
from unfasten.service.report import build_report


def ids(found: object) -> list[str]:
    return [care.id for care in found]  # type: ignore[attr-defined]


def test_every_caution_has_a_source_mark_or_says_common_practice() -> None:
    for care in cares():
        assert "common practice" in care.source or "[A]" in care.source or "[B]" in care.source, care.id
        assert care.scope in ("product", "route", "stop")
    assert len({care.id for care in cares()}) == len(cares())


def test_the_deferring_line_names_rules_and_qualified_persons() -> None:
    assert "Local rules and qualified persons" in deference()


@pytest.mark.parametrize(
    ("condition", "stop"), [("swollen", "swollen-battery"), ("damaged", "damaged-battery"), ("sound", None)]
)
def test_only_a_swollen_or_damaged_battery_stops(condition: str, stop: str | None) -> None:
    care = stop_of(bench_record(condition))
    assert (care.id if care else None) == stop


def test_unknown_condition_does_not_stop() -> None:
    assert stop_of(record({"cell": {"battery": {}}}, {"s": ("cell frame",)})) is None


def test_cautions_of_the_product() -> None:
    wanted = ["lithium-cell", "lithium-fumes", "live-circuits", "charged-capacitor", "laser"]
    assert ids(product_cautions(bench_record())) == wanted
    assert product_cautions(record({"lid": {}}, {"s": ("lid frame",)})) == ()


def test_a_part_that_is_a_battery_by_role_alone_counts() -> None:
    assert "lithium-cell" in ids(product_cautions(record({"cell": {"role": "battery"}}, {"s": ("cell frame",)})))


HEAT = Action("prepare", joint="cover-glue", way=0, what="heat", tools=("b",))
CLEAN = Action("prepare", joint="cell-glue", way=0, what="clean")


@pytest.mark.parametrize(
    ("action", "wanted"),
    [
        (HEAT, ("heat", "heat-near-cell")),
        (CLEAN, ("solvent",)),
        (Action("release", joint="cell-glue", way=0, tools=("a", "c")), ("pry-near-cell",)),
        (Action("release", joint="cell-plug", way=0, tools=("a",)), ()),
        (Action("release", joint="cover-glue", way=0, tools=("a",)), ("glass",)),
        (Action("release", joint="clip-hook", way=0, tools=("a",)), ("spring", "sharp-edge")),
        (Action("lift", bundle="shield-set"), ("spring", "sharp-edge")),
        (Action("lift", part="pane"), ("glass",)),
        (Action("swing", swing="cover-open"), ("glass",)),
        (Action("lift", part="board"), ()),
    ],
)
def test_cautions_of_an_action(action: Action, wanted: tuple[str, ...]) -> None:
    assert action_cautions(bench_record(), action) == wanted


def test_heat_without_a_cell_in_the_product_warns_of_the_surface_only() -> None:
    glued: Record = record({"lid": {}}, {"cover-glue": {"kind": "adhesive", "holds": ["lid", "frame"], "ways": [{}]}})
    assert action_cautions(glued, HEAT) == ("heat",)


def test_letters_in_the_rows_are_those_of_the_cautions() -> None:
    for sheet in bench_report().procedures:
        lettered = [caution.letter for caution in sheet.cautions if caution.letter]
        assert lettered == sorted(set(lettered))
        assert {letter for row in sheet.operations for letter in row.letters} == set(lettered)


def test_every_sheet_carries_the_cautions_of_the_product() -> None:
    for sheet in bench_report().procedures:
        assert [caution.title for caution in sheet.cautions][:2] == ["Lithium cell", "Fumes of a burning cell"]


def test_a_stop_leaves_no_procedure_and_no_first_operation() -> None:
    report = build_report(bench_record("swollen"), DAY)
    assert report.stop is not None
    assert report.stop.level == "stop"
    for sheet in report.procedures:
        assert sheet.stop == report.stop
        assert sheet.operations == sheet.renewals == sheet.why == ()
    assert {row.first for row in report.depth.rows} == {"stop: see the notice"}
    assert report.batteries[0].cautions[0] == report.stop
