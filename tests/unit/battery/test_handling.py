"""Reasons for caution: each follows from what the record shows, and an unknown one says what to look at."""

from __future__ import annotations

from typing import Any

import pytest

from support.small_record import record
from unfasten.battery.handling import Heating, Reason, heatings_in_log, reasons
from unfasten.record.part import Battery
from unfasten.record.record import Record

HEAT = [{"do": "heat", "tools": ["b"], "time": "60 s"}]
SETTLED = {"condition": "sound", "enclosure": "metal", "tabs": {"fitted": 0}}


def product(cell: dict[str, Any] | None = None, log: list[dict[str, Any]] | None = None) -> Record:
    return record(
        {"cover": {}, "cell": {"role": "battery", "battery": {**SETTLED, **(cell or {})}}, "board": {}},
        {
            "rim": {"holds": ["cover", "frame"], "kind": "adhesive", "ways": [{"tools": ["a"], "prepare": HEAT}]},
            "strip": {"holds": ["cell", "frame"], "kind": "connector", "ways": [{"under": ["cover"]}]},
            "paste": {"holds": ["board", "frame"], "kind": "adhesive", "ways": [{"prepare": HEAT}]},
        },
        log=log or [],
    )


def found(made: Record, heatings: tuple[Heating, ...] = ()) -> dict[str, Reason]:
    battery = made.parts["cell"].battery or Battery()
    return {reason.care: reason for reason in reasons(made, "cell", battery, heatings)}


def test_a_settled_battery_gives_no_reason() -> None:
    assert found(product()) == {}


@pytest.mark.parametrize("condition", ["swollen", "damaged"])
def test_condition_stops(condition: str) -> None:
    assert next(iter(found(product({"condition": condition})))) == f"{condition}-battery"


@pytest.mark.parametrize(
    ("cell", "care", "looks"),
    [
        ({"condition": None}, "lithium-cell", True),
        ({"enclosure": None}, "soft-cell", True),
        ({"enclosure": "soft"}, "soft-cell", False),
        ({"tabs": {"fitted": 2, "torn": 1}}, "torn-tabs", False),
        ({"tabs": {"fitted": 2}}, "torn-tabs", True),
        ({"heated_to": "46 °C"}, "warmed-cell", False),
        ({"heated_to": "44 ± 1 °C"}, "warmed-cell", False),
        ({"heated_to": "60 °C"}, "overheated-cell", False),
        ({"size": ["4 mm", "9 mm", "9 mm"], "thickness": "4.5 ± 0.01 mm"}, "grown-cell", True),
        ({"thickness": "4.0 ± 0.1 mm", "bay": ["3.9 ± 0.1 mm", "9 mm", "9 mm"]}, "tight-bay", False),
    ],
)
def test_what_the_record_shows_gives_its_caution(cell: dict[str, Any], care: str, looks: bool) -> None:
    given = found(product(cell))
    assert list(given) == [care]
    assert bool(given[care].look) is looks


@pytest.mark.parametrize(
    "cell",
    [
        {"tabs": {"fitted": 2, "torn": 0}},
        {"heated_to": "45 °C"},
        {"size": ["4 mm", "9 mm", "9 mm"], "thickness": "4.3 ± 0.01 mm"},
    ],
)
def test_what_is_within_bounds_gives_none(cell: dict[str, Any]) -> None:
    assert found(product(cell)) == {}


def test_growth_is_sure_only_beyond_its_uncertainty() -> None:
    size = ["4 mm", "9 mm", "9 mm"]
    assert "has grown" in found(product({"size": size, "thickness": "4.5 ± 0.01 mm"}))["grown-cell"].because
    assert "may have grown" in found(product({"size": size, "thickness": "4.39 ± 0.02 mm"}))["grown-cell"].because


def test_heat_of_the_film_counts_until_the_battery_is_out() -> None:
    log = [
        {"do": "release", "joint": "rim", "way": 0},
        {"do": "lift", "part": "cover"},
        {"do": "lift", "part": "cell"},
        {"do": "release", "joint": "paste", "way": 0},
    ]
    heatings = heatings_in_log(product(log=log), "cell")
    assert heatings == (Heating("rim", 0, used=True),)
    assert found(product(), heatings)["heat-near-cell"].because == "heat near the cell: rim, way 0 (used on film)"


def test_heat_of_its_own_joints_counts_without_a_film() -> None:
    made = record(
        {"cell": {"role": "battery", "battery": SETTLED}},
        {"glue": {"holds": ["cell", "frame"], "kind": "adhesive", "ways": [{"tools": ["a"], "prepare": HEAT}, {}]}},
    )
    assert heatings_in_log(made, "cell") == (Heating("glue", 0, used=False),)
    assert "pry-near-cell" in found(made)


def test_solvent_and_glue_at_the_battery() -> None:
    wet = [{"tools": ["a"], "prepare": [{"do": "clean", "tools": ["b"]}]}]
    cell = {"role": "battery", "battery": {"condition": "sound", "enclosure": "metal"}}
    given = found(record({"cell": cell}, {"glue": {"holds": ["cell", "frame"], "kind": "adhesive", "ways": wet}}))
    assert given["solvent-near-cell"].because == "solvent at what holds the battery: glue"
    assert "pry-near-cell" in given
