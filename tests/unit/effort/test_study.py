"""Time study: observed against predicted, with intervals from the t and chi-square distributions."""

from __future__ import annotations

import math
from fractions import Fraction

import pytest

from unfasten.effort.study import (
    Pair,
    agreement,
    normal_time,
    observations_needed,
    spread_interval,
    standard_time,
    t_factor,
)


def pairs(*observed: str, low: str = "5", high: str = "5") -> list[Pair]:
    return [Pair("joint", Fraction(text), Fraction(low), Fraction(high)) for text in observed]


def test_rating_before_allowance() -> None:
    normal = normal_time(Fraction(20), Fraction(120))
    assert normal == 24
    assert standard_time(normal, Fraction(20), "job") == Fraction("28.8")
    assert standard_time(normal, Fraction(20), "shift") == 30
    assert standard_time(normal, Fraction(0), "shift") == normal
    with pytest.raises(ValueError, match="leaves no time"):
        standard_time(normal, Fraction(100), "shift")


def test_ratio_bias_spread() -> None:
    # differences -1, 0, 1, 2: mean 0.5, s = sqrt(5/3) = 1.29099; t(3 df, 95 %) = 3.18245
    found = agreement("clip", pairs("4", "5", "6", "7"), 95, 5)
    assert (found.count, found.mean, found.ratio, found.bias) == (4, 5.5, pytest.approx(1.1), 0.5)
    assert found.spread == pytest.approx(1.29099, abs=1e-5)
    half = 3.18245 * 1.29099 / 2
    assert found.bias_interval == pytest.approx((0.5 - half, 0.5 + half), abs=1e-4)
    assert found.limits == pytest.approx((0.5 - 1.96 * 1.29099, 0.5 + 1.96 * 1.29099), abs=1e-4)
    assert found.error == pytest.approx(100 * (1 + 0 + 1 + 2) / 4 / 5)
    # n = (3.18245 x 1.29099 / (0.05 x 5.5))² = 223.2
    assert found.needed == math.ceil((3.18245 * 1.29099 / 0.275) ** 2) == 224


def test_an_open_prediction_leaves_the_ratio_open() -> None:
    found = agreement("screw", pairs("6", "6", low="4", high="8"), 95, 5)
    assert (found.ratio, found.ratio_span) == (1.0, (0.75, 1.5))
    assert (found.spread, found.needed) == (0.0, 1)


def test_one_observation_has_no_interval() -> None:
    found = agreement("screw", pairs("6"), 95, 5)
    assert (found.s, found.spread, found.bias_interval, found.ratio_interval, found.needed) == (None,) * 5
    with pytest.raises(ValueError, match="no observation"):
        agreement("screw", [], 95, 5)


def test_factors_of_the_tables() -> None:
    assert [round(t_factor(95, freedom), 3) for freedom in (1, 4, 9, 30)] == [12.706, 2.776, 2.262, 2.042]
    # chi-square of 9 degrees: 2.700 and 19.023 hold 95 %
    low, high = spread_interval(1.0, 95, 9)
    assert (low, high) == (
        pytest.approx(math.sqrt(9 / 19.023), abs=1e-4),
        pytest.approx(math.sqrt(9 / 2.700), abs=1e-3),
    )


def test_numbers_of_observations_need_a_mean() -> None:
    with pytest.raises(ValueError, match="above zero"):
        observations_needed(0, 1, 2, 5)
    assert observations_needed(10, 0, 2, 5) == 0
