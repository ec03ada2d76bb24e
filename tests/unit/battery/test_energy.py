"""Energy: the mark against nominal voltage times capacity, with what rounding and uncertainty allow."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

import pytest

from unfasten.battery.energy import energy_of, spread
from unfasten.evidence.quantity import parse
from unfasten.record.part import Battery

LABEL = {"nominal_voltage": "3.87 V", "charge_voltage": "4.45 V", "rated_capacity": "5000 mAh"}


def label(**more: Any) -> Battery:
    return Battery.model_validate({**LABEL, **more})


@pytest.mark.parametrize(
    ("mark", "verdict"),
    [
        ("19.35 Wh", "agrees"),
        ("19.3 Wh", "agrees"),  # stands for 19.25 to 19.35
        ("19.38 Wh", "agrees"),  # 3.875 V x 5000.5 mAh = 19.377 Wh
        ("19.39 Wh", "differs"),
        ("19.31 Wh", "differs"),
        ("19.4 ± 0.05 Wh", "agrees"),
        ("22.25 Wh", "charge-voltage"),
        ("25 Wh", "differs"),
    ],
)
def test_the_mark_is_held_against_the_product(mark: str, verdict: str) -> None:
    found = energy_of(label(marked_energy=mark))
    assert found.verdict == verdict
    assert (found.look is None) is (verdict == "agrees")


def test_the_mark_is_what_counts_and_the_difference_is_told() -> None:
    found = energy_of(label(marked_energy="25 Wh"))
    assert (found.value, found.origin) == (25, "label")
    assert "differs by +29.2 %" in found.says


def test_without_a_mark_the_product_counts() -> None:
    found = energy_of(label())
    assert (found.value, found.origin, found.verdict) == (Fraction("19.35"), "computed", "unknown")
    assert found.look == "look for the Wh rating on the label"


def test_what_is_missing_is_named() -> None:
    found = energy_of(Battery.model_validate({"marked_energy": "19.35 Wh", "rated_capacity": "5000 mAh"}))
    assert (found.verdict, found.computed, found.value) == ("unknown", None, Fraction("19.35"))
    assert found.says == "energy cannot be recomputed without the nominal voltage"
    empty = energy_of(Battery())
    assert (empty.value, empty.origin, empty.look) == (
        None,
        None,
        "read the nominal voltage and rated capacity on the label",
    )


def test_no_capacity_is_no_fault_of_division() -> None:
    assert energy_of(label(rated_capacity="0 mAh", marked_energy="19.35 Wh")).verdict == "differs"


def test_what_a_printed_figure_stands_for() -> None:
    assert (spread(parse("3.87 V", "voltage")).low, spread(parse("3.87 V", "voltage")).high) == (
        Fraction("3.865"),
        Fraction("3.875"),
    )
    assert spread(parse("5.0 Ah", "charge")).width == 100  # 4950 to 5050 mAh
    assert spread(parse("19.4 ± 0.1 Wh", "energy")).width == Fraction("0.4")
    assert spread(parse("0.4 V", "voltage")).low >= 0
