"""The example batteries are worked out without contradiction, and their differences are those that were planted."""

from __future__ import annotations

from datetime import date
from functools import cache
from pathlib import Path

import pytest

from unfasten.record.record import Record
from unfasten.service.battery import BatteryAnswer, battery_answers
from unfasten.service.load import load_record

FOLDER = Path(__file__).parents[3] / "examples"
DAY = date(2026, 6, 1)
NAMES = ("tarn-9", "tarn-11", "tarn-11-plus")


@cache
def example(name: str) -> Record:
    return load_record(FOLDER / f"{name}.yaml")


def answer(name: str, against: str | None = None) -> BatteryAnswer:
    (found,) = battery_answers(example(name), DAY, None if against is None else example(against))
    return found


@pytest.mark.parametrize("name", NAMES)
def test_label_size_and_energy_agree(name: str) -> None:
    sheet = answer(name).sheet
    assert sheet.energy.verdict == "agrees"
    assert [one.against for one in sheet.readings] == [0]
    assert (sheet.readings[0].fits_size, sheet.readings[0].plausible) == (True, True)
    assert answer(name).remarks == ()


@pytest.mark.parametrize(
    ("name", "room", "road"),
    [
        ("tarn-9", "met", "within special provision 188"),
        ("tarn-11", "met", "open: within special provision 188 only if every unknown below turns out well"),
        ("tarn-11-plus", "unknown", "open: within special provision 188 only if every unknown below turns out well"),
    ],
)
def test_room_and_class(name: str, room: str, road: str) -> None:
    sheet = answer(name).sheet
    assert (sheet.room.verdict, sheet.road) == (room, road)


def test_what_changed_from_the_predecessor() -> None:
    differ = {change.id for change in answer("tarn-11", "tarn-9").changes if change.sure}
    assert {
        "nominal-voltage",
        "charge-voltage",
        "capacity",
        "marked-energy",
        "thickness",
        "mass",
        "wh-per-kg",
    } <= differ
    assert differ.isdisjoint({"cells", "chemistry", "enclosure", "condition"})


def test_the_larger_sibling_has_cells_in_series_so_charge_does_not_compare() -> None:
    changes = {change.id: change for change in answer("tarn-11-plus", "tarn-11").changes}
    assert changes["capacity"].difference == -2500
    assert "compare Wh" in changes["capacity"].says
    assert changes["marked-energy"].difference == pytest.approx(10.06)
    assert changes["cells"].sure is True
