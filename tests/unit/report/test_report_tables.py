"""Title block, summary and tables: what is not stated says so, and every row has its origin."""

from __future__ import annotations

from support.report_record import DAY, bench_report, tarn_record, tarn_report
from support.small_record import record
from unfasten.service.report import build_report


def test_title_block_of_a_bare_record_says_what_is_not_stated() -> None:
    title = build_report(record({"lid": {}}, {"s": ("lid frame",)}), DAY).title
    assert (title.owner, title.creator, title.approved_by) == ("not stated", "not stated", "not approved")
    assert (title.number, title.edition, title.issued, title.state) == ("small", "1", "2026-03-09", "draft")
    assert (title.rules, title.rules_on) == ("eu-2023-1669", "2026-03-09")


def test_lead_gives_index_class_and_both_depths_as_intervals() -> None:
    report = tarn_report()
    assert report.summary.band is not None
    assert report.summary.lead == (
        f"Index {report.summary.band.span.text} of 5, classes {report.summary.band.classes}. "
        "Battery: 8–11 steps. Display assembly: 11–12 steps."
    )
    assert report.summary.band.word == "open"


def test_classes_and_step_bands_come_from_the_rules() -> None:
    report = tarn_report()
    assert report.summary.band is not None
    assert [(border.letter, str(border.start)) for border in report.summary.band.borders] == [
        ("E", "1.00"), ("D", "1.75"), ("C", "2.55"), ("B", "3.35"), ("A", "4.00"),
    ]  # fmt: skip
    assert [(band.upto, band.points) for band in report.depth.bands] == [(2, "5"), (5, "4"), (10, "3"), (15, "2")]
    assert report.depth.beyond == "1"


def test_depth_rows_are_shallowest_first_and_unreachable_last() -> None:
    rows = bench_report().depth.rows
    lows = [row.steps.low for row in rows if row.steps.low is not None]
    assert lows == sorted(lows)
    assert rows[-1].part == "buried"
    assert rows[-1].proof.startswith("not reachable")


def test_fastener_chart_counts_every_fastener_once() -> None:
    report = tarn_report()
    assert sum(group.count for group in report.fasteners) == sum(j.count for j in tarn_record().joints.values())
    assert sum(len(group.rows) for group in report.fasteners) == len(tarn_record().joints)
    screws = report.fasteners[0]
    assert screws.kind == "Screw"
    assert {row.drive for row in screws.rows} == {"cross recess 00", "hexalobular 3"}


def test_unknown_reuse_is_not_known() -> None:
    rows = {row.joint: row.reuse for group in bench_report().fasteners for row in group.rows}
    assert rows["board-screws"] == "not known"
    assert rows["cell-glue"] == "new material"


def test_tool_of_one_bound_only_stands_in_brackets() -> None:
    tools = bench_report().tools
    column = tools.parts.index("Cell")
    marks = {row.tool: row.marks[column] for row in tools.rows}
    assert marks["a"] == marks["b"] == marks["c"] == "x"
    tarn = tarn_report().tools
    assert "(x)" in {mark for row in tarn.rows for mark in row.marks}


def test_battery_energy_uses_the_nominal_voltage_and_flags_the_mark() -> None:
    facts = {fact.label: fact for fact in bench_report().batteries[0].facts}
    energy = facts["Energy from nominal voltage × rated capacity"]
    assert energy.value == "19.35 Wh (differs from the mark by more than 1 %)"
    assert energy.origin == "computed"
    assert facts["Enclosure"].value == "not known"
    assert facts["Enclosure"].origin == ""


def test_log_rows_say_what_was_found() -> None:
    rows = bench_report().log
    assert [row.do for row in rows] == ["note", "undo", "lift out", "undo", "lift out", "undo", "found", "pause"]
    assert rows[1].took == "82.0"
    assert rows[6].what == "Cell glue: covered by Board; the board reaches over it"


def test_origins_use_the_five_words() -> None:
    words = {word for row in tarn_report().method.origins for word in row.origin.replace(";", " ").split()}
    assert words - {"or", "some", "open"} == {"seen", "measured", "computed", "claimed", "assumed"}


def test_joints_that_the_log_never_reached_are_said_to_be_assumed() -> None:
    row = bench_report().method.origins[0]
    assert row.origin == "seen or assumed"
    assert row.basis.startswith("3 of 9 joints were undone in the log")
