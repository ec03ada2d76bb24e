"""Operation sheets: figures from the replay's tally, low and high said in words, reasons for every part moved."""

from __future__ import annotations

import pytest

from support.report_record import DAY, bench_record, bench_report, tarn_record, tarn_report
from support.small_record import record
from unfasten.report.model.procedure import Procedure
from unfasten.routes.cost import cost
from unfasten.service.report import build_report
from unfasten.service.report_routes import shown_route
from unfasten.service.routes import reach_of


def sheet(part: str) -> Procedure:
    return next(item for item in bench_report().procedures if item.part == part)


def test_last_line_carries_the_cost_of_the_route() -> None:
    for part, reach in reach_of(bench_record()).items():
        route = shown_route(reach)
        found = [item for item in bench_report().procedures if item.part == part and item.operations]
        for item in found:
            assert route is not None
            steps, time = cost(bench_record(), route.actions)
            assert item.operations[-1].steps == steps == route.steps
            assert item.operations[-1].so_far == f"{int(time) // 60}:{int(time) % 60:02d}"


def test_pairing_additions_are_in_the_head_and_not_in_the_table() -> None:
    cell = sheet("cell")
    assert cell.steps.text == "17"
    assert cell.operations[-1].steps == 7
    assert cell.additions.startswith("10 steps are added for remote notification and remote authorisation")


def test_note_names_the_open_cover_and_what_it_would_save() -> None:
    battery = next(item for item in tarn_report().procedures if item.part == "battery")
    assert "Near-field coil over Battery plug" in battery.note
    assert "3 steps fewer (8 instead of 11)" in battery.note
    assert battery.steps.open
    assert battery.steps.text == "8–11"


def test_note_says_so_where_nothing_is_open() -> None:
    assert sheet("cover").note.startswith("Nothing open lies on the way")


def test_reasons_for_the_parts_that_move() -> None:
    rows = {row.moved: (row.because, row.sure) for row in sheet("cell").why}
    assert rows["Shield with spring"] == ("may cover Cell plug", "open")
    assert rows["Board"] == ("covers Cell glue", "listed")
    assert rows["Back cover"][1] == "listed"
    horn = {row.moved: row.sure for row in sheet("horn").why}
    assert "either" in horn.values()


def test_stretches_open_once_each() -> None:
    for item in tarn_report().procedures:
        opened = [row.stretch for row in item.operations if row.opens]
        assert opened == sorted({row.stretch for row in item.operations})


def test_renewals_come_in_the_order_of_reassembly() -> None:
    assert sheet("cell").renewals == (
        "Cell glue: renew",
        "Board screws: reuse not known",
        "Cover glue: renew, comes with the part",
    )


def test_unreachable_part_says_why_and_has_no_procedure() -> None:
    buried = sheet("buried")
    assert "held by weld" in buried.unreachable
    assert buried.operations == ()
    assert buried.steps.text == "none"


def test_only_high_unreachable_shows_the_low_route() -> None:
    joints = {
        "one": ("a frame", {}),
        "two": {"holds": ["b", "frame"], "ways": [{"survey": "partial"}]},
        "three": {"holds": ["a", "b"], "ways": [{"under": ["b"]}]},
    }
    log = [{"do": "release", "joint": "one"}, {"do": "lift", "part": "a"}, {"do": "release", "joint": "two"}]
    report = build_report(record({"a": {"role": "battery"}, "b": {"role": "speaker"}}, joints, log=log), DAY)
    for item in report.procedures:
        assert item.steps.high is None or item.steps.low is not None


@pytest.mark.parametrize("field", ["name", "do", "what", "tool", "time", "so_far"])
def test_no_line_of_an_operation_sheet_is_left_blank(field: str) -> None:
    if field == "name":
        assert all(item.name for item in tarn_report().procedures)
        return
    assert all(getattr(row, field) for item in tarn_report().procedures for row in item.operations)


def test_every_priority_part_has_a_sheet() -> None:
    roles = [name for name, part in tarn_record().parts.items() if part.role not in (None, "other")]
    assert [item.part for item in tarn_report().procedures] == roles
