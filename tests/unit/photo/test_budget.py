"""Budgets: degrees of freedom, coverage factors, pooling of repeated readings."""

from __future__ import annotations

import math

import pytest

from unfasten.photo.budget import Budget, Component, coverage_factor, dof_of_doubt, effective_dof, rectangular
from unfasten.photo.combine import PER_PHOTO, combine
from unfasten.photo.reading import Reading, places_of


def reading(value: float, pointing: float = 0.1, dof: float = 8.0, scale: float = 0.05) -> Reading:
    parts = (Component("pointing", pointing, dof, "B"), Component("scale fit", scale, 100.0, "A"))
    return Reading("distance", value, "mm", Budget(parts))


def test_without_finite_degrees_of_freedom_the_factor_is_the_normal_one() -> None:
    assert effective_dof([(1.0, math.inf), (2.0, math.inf)]) == math.inf
    assert coverage_factor(math.inf) == pytest.approx(1.95996, abs=1e-5)


def test_few_degrees_of_freedom_widen_the_interval() -> None:
    assert coverage_factor(2.0) == pytest.approx(4.303, abs=1e-3)
    assert coverage_factor(2.9) == coverage_factor(2.0)
    assert coverage_factor(0.3) == coverage_factor(1.0)


def test_coverage_probability_is_a_probability() -> None:
    with pytest.raises(ValueError, match="outside"):
        coverage_factor(5.0, 1.0)


def test_rectangular_and_doubt() -> None:
    assert rectangular(1.0) == pytest.approx(0.5774, abs=1e-4)
    assert dof_of_doubt(0.1) == pytest.approx(50.0)
    assert dof_of_doubt(0.0) == math.inf


def test_one_reading_is_left_alone() -> None:
    assert combine([reading(10.0)]) == reading(10.0)


def test_repeats_shrink_pointing_and_leave_the_scale() -> None:
    both = combine([reading(10.0), reading(10.1), reading(9.9), reading(10.0)])
    lines = {part.name: part for part in both.budget.components}
    assert both.value == pytest.approx(10.0)
    # pooled variance: (8 x 0.1^2 + 0.02) / 11, over 4 readings
    assert lines["repeat readings"].u == pytest.approx(math.sqrt((8 * 0.01 + 0.02) / 11 / 4))
    assert lines["repeat readings"].dof == 11
    assert lines["repeat readings"].evaluation == "A"
    assert lines["scale fit"].u == pytest.approx(0.05)


def test_scatter_beyond_the_assumed_care_widens_the_result() -> None:
    calm = combine([reading(10.0), reading(10.0), reading(10.0)])
    wild = combine([reading(9.0), reading(10.0), reading(11.0)])
    assert wild.u > 2 * calm.u


def test_readings_from_several_photos_share_only_what_is_common_to_them() -> None:
    def shot(value: float) -> Reading:
        parts = (
            Component("pointing", 0.1, 8.0, "B"),
            Component("scale fit", 0.05, 100.0, "A"),
            Component("scale reference", 0.2, math.inf, "B"),
        )
        return Reading("distance", value, "mm", Budget(parts))

    one, many = shot(10.0), combine([shot(10.0), shot(10.05), shot(9.95), shot(10.0)], PER_PHOTO)
    lines = {part.name: part.u for part in many.budget.components}
    assert set(lines) == {"repeat readings", "scale reference"}
    assert lines["scale reference"] == pytest.approx(0.2)
    assert lines["repeat readings"] < math.hypot(0.1, 0.05) / 2 * 1.01
    assert many.u < one.u


def test_readings_of_different_quantities_are_not_combined() -> None:
    other = Reading("angle", 10.0, "°", Budget(()))
    with pytest.raises(ValueError, match="one quantity"):
        combine([reading(10.0), other])


def test_text_shows_two_digits_of_the_uncertainty() -> None:
    assert reading(61.5314, 0.08, math.inf, 0.0).text == "61.531 ± 0.080 mm"
    assert reading(61.5314, 1.23, math.inf, 0.0).text == "61.5 ± 1.3 mm"
    assert places_of(0.00123) == 4
