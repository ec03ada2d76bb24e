"""Change from one battery to another: sure beyond twice its uncertainty, unknown where something is not known."""

from __future__ import annotations

from datetime import date
from typing import Any

from support.small_record import record
from unfasten.battery.difference import Change, changes
from unfasten.battery.sheet import Sheet, sheet_of

DAY = date(2026, 6, 1)
OLD = {
    "nominal_voltage": "3.85 V",
    "rated_capacity": "5000 mAh",
    "marked_energy": "19.25 Wh",
    "cells_in_series": 1,
    "cells_in_parallel": 1,
    "size": ["4.0 ± 0.01 mm", "90 ± 0.1 mm", "110 ± 0.1 mm"],
    "mass": "80.0 ± 0.1 g",
    "enclosure": "soft",
}


def sheet(**more: Any) -> Sheet:
    told = {key: value for key, value in {**OLD, **more}.items() if value is not None}
    return sheet_of(record({"cell": {"battery": told}}, {}), "cell", (), DAY)


def by_id(before: Sheet, after: Sheet) -> dict[str, Change]:
    return {change.id: change for change in changes(before, after)}


def test_against_itself_nothing_differs() -> None:
    for change in by_id(sheet(), sheet()).values():
        assert change.sure in (False, None)
        assert change.difference in (0.0, None)


def test_printed_figures_differ_as_soon_as_they_are_others() -> None:
    found = by_id(sheet(), sheet(nominal_voltage="3.87 V", marked_energy="19.35 Wh"))
    assert (found["nominal-voltage"].sure, found["nominal-voltage"].text) == (True, "+0.02 V (+0.5 %)")
    assert found["capacity"].sure is False


def test_a_measured_difference_says_whether_it_exceeds_its_uncertainty() -> None:
    found = by_id(sheet(), sheet(mass="80.2 ± 0.1 g"))["mass"]
    assert (found.sure, found.says) == (False, "no more than 2 x its uncertainty of 0.1")
    assert by_id(sheet(), sheet(mass="80.5 ± 0.1 g"))["mass"].sure is True
    lone = by_id(sheet(), sheet(mass="80.5 g"))["mass"]
    assert (lone.sure, lone.says) == (None, "uncertainty not assessed")


def test_charge_does_not_compare_across_cells_in_series() -> None:
    two = sheet(cells_in_series=2, rated_capacity="2600 mAh", nominal_voltage="7.7 V", marked_energy="20.02 Wh")
    found = by_id(sheet(), two)
    assert found["capacity"].says == "mAh do not compare across cells in series; compare Wh"
    assert found["marked-energy"].text == "+0.77 Wh (+4.0 %)"
    assert (found["cells"].sure, found["cells"].text) == (True, "differs")


def test_what_is_not_known_is_unknown_not_zero() -> None:
    found = by_id(sheet(mass=None, enclosure=None), sheet())
    assert (found["mass"].difference, found["mass"].sure, found["mass"].says) == (None, None, "not known before")
    assert found["enclosure"].text == "unknown"


def test_mirrored() -> None:
    one, two = sheet(), sheet(mass="80.5 ± 0.1 g", rated_capacity="5200 mAh", enclosure="metal")
    there, back = by_id(one, two), by_id(two, one)
    for name, change in there.items():
        assert back[name].sure == change.sure
        assert (back[name].difference is None) == (change.difference is None)
        if change.difference is not None:
            assert back[name].difference == -change.difference
