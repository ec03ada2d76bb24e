"""The demo's table, on a record small enough to draw: what is counted, and in which order it is shown."""

from __future__ import annotations

from datetime import date
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from rich.console import Console

from unfasten.cli.demotable import clock, record_view, summary_view
from unfasten.record.record import Record
from unfasten.service.assess import assess
from unfasten.service.demo import Outcome, part_lines
from unfasten.service.routes import reach_of

LIFT = {"side": "back", "time": "3 s"}


def joint(holds: list[str], tool: str, **way: Any) -> dict[str, Any]:
    """A screw with one way."""
    return {"kind": "screw", "holds": holds, "reuse": "reusable", "ways": [{"tools": [tool], "time": "5 s", **way}]}


TREE: dict[str, Any] = {
    "format": "unfasten-record/1",
    "product": {"id": "lamp", "name": "Lamp [2]", "maker": "Fellwright", "category": "slate-tablet"},
    "tools": {"hex-3": {"name": "Driver 3", "class": "basic"}, "pick": {"name": "Pick", "class": "basic"}},
    "parts": {
        "frame": {"name": "Midframe", "stays": True},
        "stuck": {"name": "Riveted plate", "lift": {**LIFT, "behind": ["twin"]}},
        "twin": {"name": "Twin plate", "lift": {**LIFT, "behind": ["stuck"]}},
        "shield": {"name": "Shield", "lift": {**LIFT, "behind": ["cover"]}},
        "battery": {"name": "Battery", "role": "battery", "lift": {**LIFT, "behind": ["cover"], "survey": "partial"}},
        "cover": {"name": "Back cover", "role": "back-cover", "lift": LIFT},
    },
    "joints": {
        "cover-screw": joint(["cover", "frame"], "pick"),
        "shield-screw": joint(["shield", "frame"], "hex-3", under=["cover"]),
        "battery-screw": joint(["battery", "frame"], "pick", under=["cover"]),
        "stuck-screw": joint(["stuck", "frame"], "pick"),
        "twin-screw": joint(["twin", "frame"], "pick"),
    },
    "bundles": {"back": {"parts": ["cover", "shield"], "lift": {**LIFT, "behind": ["stuck"]}}},
    "log": [
        {"do": "release", "joint": "cover-screw"},
        {"do": "lift", "part": "cover"},
        {"do": "release", "joint": "shield-screw"},
        {"do": "lift", "part": "shield"},
        {"do": "release", "joint": "battery-screw"},
        {"do": "lift", "part": "battery"},
    ],
}


@pytest.fixture(scope="module")
def outcome() -> Outcome:
    """What the demo finds of the small record."""
    record = Record.model_validate(TREE)
    reaches = reach_of(record)
    assessment = assess(record, reaches, date(2026, 4, 1))
    lines = part_lines(record, reaches, assessment)
    return Outcome(record, lines, assessment, Path("lamp.html"), Path("lamp.pdf"), True)


def shown(view: Any, width: int = 80) -> str:
    """What a plain terminal shows."""
    console = Console(width=width, markup=False, emoji=False, highlight=False, no_color=True)
    with console.capture() as caught:
        console.print(view)
    return caught.get()


def test_priority_parts_come_first_and_each_group_from_the_shallowest(outcome: Outcome) -> None:
    names = [(line.name, line.is_priority) for line in outcome.lines]
    assert names == [
        ("Back cover", True),
        ("Battery", True),
        ("Shield", False),
        ("Riveted plate", False),
        ("Twin plate", False),
    ]


def test_parts_taken_off_first_are_counted_on_both_routes(outcome: Outcome) -> None:
    # the battery needs the cover off; the shield came off earlier and may be in the way
    assert {line.part: line.off for line in outcome.lines} == {
        "cover": (0, 0),
        "battery": (1, 2),
        "shield": (1, 1),
        "stuck": None,
        "twin": None,
    }


def test_table_fits_eighty_columns_and_says_all(outcome: Outcome) -> None:
    text = shown(record_view(outcome))
    assert max(len(line) for line in text.splitlines()) <= 80
    battery = next(line for line in text.splitlines() if "Battery" in line)
    # low: tool 1.4, screw 5, lift 3, screw 5, lift 3 = 17.4 s; high: three times tool 1.4, screw 5, lift 3 = 28.2 s
    assert battery.split() == ["*", "Battery", "2-3", "0:17-0:28", "1-2", "of", "4", "2", "1"]
    assert "Lamp [2]" in text
    assert "Tools 1 hex-3   2 pick" in text
    assert "not reachable" in next(line for line in text.splitlines() if "Twin plate" in line)
    assert "Riveted plate: " in text, "why it cannot be reached stands below the table"


def test_index_stands_with_its_class_and_what_is_open(outcome: Outcome) -> None:
    text = shown(record_view(outcome))
    points, grade = outcome.assessment.as_json()["index"], outcome.assessment.as_json()["class"]
    assert isinstance(points, dict)
    assert isinstance(grade, dict)
    assert f"Index {points['low']}-{points['high']}, class {grade['low']}-{grade['high']}" in text
    assert f"{len(outcome.assessment.open)} facts open" in text


def test_summary_names_reports_and_what_to_try(outcome: Outcome) -> None:
    text = shown(summary_view([outcome], ".venv/bin/unfasten", Path("examples/lamp.yaml")))
    assert "lamp.html" in text
    assert "lamp.pdf" in text
    assert ".venv/bin/unfasten routes examples/lamp.yaml --to battery" in text


def test_rules_that_do_not_apply_are_said_to(outcome: Outcome) -> None:
    record = outcome.record.model_copy(
        update={"product": outcome.record.product.model_copy(update={"category": "other"})}
    )
    reaches = reach_of(record)
    assessment = assess(record, reaches, date(2026, 4, 1))
    lines = part_lines(record, reaches, assessment)
    text = shown(record_view(Outcome(record, lines, assessment, Path("a"), Path("b"), True)))
    assert f"No index: {assessment.reason}"[:60] in text
    assert not any(line.is_priority for line in lines)


@pytest.mark.parametrize(
    ("seconds", "text"), [("0", "0:00"), ("59.4", "0:59"), ("59.5", "1:00"), ("61", "1:01"), ("3600", "60:00")]
)
def test_time_is_rounded_to_the_second(seconds: str, text: str) -> None:
    assert clock(Fraction(seconds)) == text
