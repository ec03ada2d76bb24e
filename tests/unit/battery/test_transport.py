"""Transport: what counts as a cell, dated limits, damaged batteries, and unknown where something is missing."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Any

import pytest

import unfasten.battery
from unfasten.battery.energy import energy_of
from unfasten.battery.fact import Ruling
from unfasten.battery.figures import figure, figure_or_none, parameters, stale
from unfasten.battery.makeup import makeup_of
from unfasten.battery.marking import markings
from unfasten.battery.transport import NOT_CODED, road_class, transport, un_numbers
from unfasten.evidence.parameter import TooEarlyError
from unfasten.record.part import Battery

DAY = date(2026, 6, 1)
SOUND = {
    "nominal_voltage": "3.87 V",
    "rated_capacity": "5000 mAh",
    "marked_energy": "19.35 Wh",
    "designation": "ICP5/59/92",
    "condition": "sound",
    "tested_un_38_3": True,
    "state_of_charge": "25 %",
}
#: a label that does not tell the number of cells
UNCOUNTED = {"designation": None, "chemistry": "lithium-ion", "rated_capacity": None}


def ruled(on: date = DAY, **more: Any) -> tuple[dict[str, Ruling], str]:
    battery = Battery.model_validate({key: value for key, value in {**SOUND, **more}.items() if value is not None})
    makeup = makeup_of(battery, markings(battery.designation) if battery.designation else ())
    rulings = transport(battery, makeup, energy_of(battery).span, on)
    return {ruling.id: ruling for ruling in rulings}, road_class(rulings)


def test_a_sound_single_cell_is_within_188() -> None:
    found, road = ruled()
    assert road == "within special provision 188"
    assert found["road-energy"].says == "a battery of one cell counts as a cell: 19.35 Wh against 20 Wh"
    assert [found[name].verdict for name in ("air-alone", "air-packed", "air-installed")] == [
        "met",
        "met",
        "does not apply",
    ]


@pytest.mark.parametrize(
    ("more", "verdict"),
    [
        (
            {"designation": None, "chemistry": "lithium-ion", "marked_energy": "19.9 Wh", "rated_capacity": None},
            "met",
        ),  # within both limits
        (
            {"designation": None, "chemistry": "lithium-ion", "marked_energy": "20.1 Wh", "rated_capacity": None},
            "unknown",
        ),
        (
            {"designation": None, "chemistry": "lithium-ion", "marked_energy": "100.1 Wh", "rated_capacity": None},
            "not met",
        ),  # above both
        ({"designation": None, "chemistry": None}, "unknown"),
        ({"marked_energy": None, "rated_capacity": None}, "unknown"),
        ({"marked_energy": "20 Wh", "rated_capacity": None}, "met"),
        ({"marked_energy": "20.01 Wh", "rated_capacity": None}, "not met"),
        ({"marked_energy": "22.25 Wh", "charge_voltage": "4.45 V"}, "unknown"),  # the mark took the charge limit
        ({"marked_energy": "25 Wh", "rated_capacity": "5200 mAh"}, "not met"),  # 20.12 Wh: above either way
        ({"marked_energy": "100 Wh", "rated_capacity": None, "designation": "2ICP5/59/92"}, "met"),
        ({"marked_energy": "100.01 Wh", "rated_capacity": None, "designation": "2ICP5/59/92"}, "not met"),
        ({"designation": "LR5/59", "chemistry": "lithium-metal"}, "unknown"),
    ],
)
def test_the_limit_follows_the_cells(more: dict[str, Any], verdict: str) -> None:
    ruling = ruled(**more)[0]["road-energy"]
    assert ruling.verdict == verdict
    assert bool(ruling.look) is (verdict == "unknown")


def test_a_figure_that_lies_just_above_a_limit_is_told_with_the_places_that_show_it() -> None:
    """5168 mAh x 3.87 V = 20.00016 Wh."""
    ruling = ruled(marked_energy=None, rated_capacity="5168 mAh")[0]["road-energy"]
    assert ruling.verdict == "not met"
    assert ruling.says.endswith("20.00016 Wh against 20 Wh")


def test_the_charge_limit_does_not_push_a_cell_over() -> None:
    found, _ = ruled(marked_energy=None, charge_voltage="4.45 V")  # 22.25 Wh at 4.45 V, 19.35 Wh at 3.87 V
    assert found["road-energy"].verdict == "met"
    assert found["road-mark"].verdict == "unknown"


def test_record_and_designation_that_disagree_leave_it_open() -> None:
    battery = Battery.model_validate({**SOUND, "cells_in_series": 2})
    makeup = makeup_of(battery, markings("ICP5/59/92"))
    assert makeup.series is None
    assert makeup.remarks == ("cells in series: the record says 2, the designation 1; look at the battery again",)


@pytest.mark.parametrize("condition", ["swollen", "damaged"])
def test_a_damaged_battery_leaves_188_and_never_flies(condition: str) -> None:
    found, road = ruled(condition=condition)
    assert road.startswith("damaged or swollen: special provision 376")
    assert {found[name].verdict for name in ("damaged", "air-alone", "air-packed", "air-installed")} == {"not met"}
    assert "P908" in found["damaged"].says


def test_conditions_that_are_not_recorded_are_unknown() -> None:
    found, road = ruled(condition=None, tested_un_38_3=None)
    assert road.startswith("open")
    for name in ("damaged", "road-test"):
        assert (found[name].verdict, bool(found[name].look)) == ("unknown", True)
    assert ruled(tested_un_38_3=False)[1].startswith("a condition of special provision 188 is not met")


@pytest.mark.parametrize(
    ("charge", "verdict"),
    [("30 %", "met"), ("30.1 %", "not met"), ("31 ± 1 %", "unknown"), ("27 ± 1 %", "met"), (None, "unknown")],
)
def test_the_charge_with_its_uncertainty(charge: str | None, verdict: str) -> None:
    found, _ = ruled(state_of_charge=charge)
    assert (found["air-alone"].verdict, found["air-packed"].verdict) == (verdict, verdict)
    assert found["air-installed"].verdict == "does not apply"


def test_packed_with_equipment_from_the_first_of_january_2026() -> None:
    before, after = (
        ruled(on, state_of_charge="60 %")[0]["air-packed"] for on in (date(2025, 12, 31), date(2026, 1, 1))
    )
    assert (before.verdict, after.verdict) == ("does not apply", "not met")
    assert before.says == "no limit of charge on this day; it holds from 2026-01-01"
    assert ruled(date(2016, 3, 31))[0]["air-alone"].verdict == "unknown"
    assert ruled(date(2016, 4, 1))[0]["air-alone"].verdict == "met"


def test_a_day_before_the_edition_is_unknown_not_an_older_figure() -> None:
    found, road = ruled(date(2024, 12, 31))
    assert (found["road-energy"].verdict, found["road-package"].verdict) == ("unknown", "unknown")
    assert road.startswith("open")
    assert figure_or_none("road.cell_energy", date(2024, 12, 31)) is None
    with pytest.raises(TooEarlyError):
        figure("road.cell_energy", date(2024, 12, 31))


def test_lithium_metal_has_its_own_numbers_and_rules() -> None:
    battery = Battery.model_validate({**SOUND, "designation": None, "chemistry": "lithium-metal"})
    makeup = makeup_of(battery, ())
    assert un_numbers(makeup) == {"alone": "UN 3090", "packed with equipment": "UN 3091", "in equipment": "UN 3091"}
    found, _ = ruled(designation=None, chemistry="lithium-metal")
    assert {found[name].verdict for name in ("air-alone", "air-packed", "air-installed")} == {"does not apply"}
    assert un_numbers(makeup_of(Battery(), ())) == dict.fromkeys(("alone", "packed with equipment", "in equipment"))


def test_every_figure_is_cited_and_none_is_from_memory() -> None:
    for parameter in parameters().values():
        assert parameter.confidence in ("A", "B")
        assert all(one.cite.at for one in parameter.history)
    assert {p.confidence for name, p in parameters().items() if name.startswith("road.")} == {"A"}
    assert all("not coded, see" in text for text in NOT_CODED)


def test_every_figure_is_used() -> None:
    package = Path(unfasten.battery.__file__).parent
    code = "".join(path.read_text("utf-8") for path in package.glob("*.py"))
    assert [name for name in parameters() if f'"{name}"' not in code] == []


def test_figures_that_may_have_been_replaced_are_told() -> None:
    assert stale(date(2026, 11, 1)) == ()
    assert any("adr-2025" in text for text in stale(date(2027, 6, 1)))
