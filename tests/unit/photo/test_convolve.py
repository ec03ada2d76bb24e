"""Joined distributions against closed forms, and budgets that carry them."""

from __future__ import annotations

import math

import numpy as np
import pytest

from unfasten.photo.budget import CARE, Budget, Component, coverage_factor
from unfasten.photo.combine import combine
from unfasten.photo.convolve import evenly, half_width
from unfasten.photo.lens import pinhole
from unfasten.photo.measure import Pointing, measure
from unfasten.photo.reading import Reading
from unfasten.photo.ruler import length_scale
from unfasten.photo.scale import Object, Optics
from unfasten.photo.view import Source


def even(name: str, u: float) -> Component:
    return Component(name, u, math.inf, "B", errors=(evenly(u),))


def test_evenly_has_the_standard_deviation_it_is_asked_for() -> None:
    assert np.std(evenly(0.3)) == pytest.approx(0.3)
    assert max(evenly(1.0)) == pytest.approx(math.sqrt(3), rel=0.04)


def test_rectangular_and_triangular_intervals() -> None:
    """A rectangle of half-width a holds 95 % within 0.95 a; two alike make a triangle: (1 - sqrt(0.05)) 2 a."""
    a = math.sqrt(3)
    assert half_width([evenly(1.0)], 0.0, math.inf, 0.95) == pytest.approx(0.95 * a, rel=0.02)
    assert half_width([evenly(1.0)] * 2, 0.0, math.inf, 0.95) == pytest.approx(2 * a * (1 - math.sqrt(0.05)), rel=0.01)


def test_a_rectangle_beside_a_normal_part_against_the_integral() -> None:
    """P(|E| <= K) for a sum of a rectangle of half-width a and a normal error, by integrating the normal part."""
    import scipy.integrate
    import scipy.stats

    a, u = math.sqrt(3), 0.7
    half = half_width([evenly(1.0)], u, math.inf, 0.95)

    def holds(x: float) -> float:
        return float(scipy.stats.norm.cdf((half - x) / u) - scipy.stats.norm.cdf((-half - x) / u)) / (2 * a)

    assert scipy.integrate.quad(holds, -a, a)[0] == pytest.approx(0.95, abs=0.001)


def test_a_dominant_normal_part_keeps_the_factor_of_student() -> None:
    budget = Budget((Component("pointing", 1.0, 8.0, "B"), even("edge", 0.01)))
    assert budget.factor() == pytest.approx(coverage_factor(8.0), rel=0.003)


def test_a_dominant_limit_has_a_smaller_factor() -> None:
    budget = Budget((Component("pointing", 0.05, 8.0, "B"), even("edge", 1.0)))
    assert 1.6 < budget.factor() < 1.75
    assert budget.factor(0.99) < coverage_factor(math.inf, 0.99)


def test_components_of_one_doubt_keep_its_degrees_of_freedom() -> None:
    """Both the picks of the scale and those of the part are made by one person, whose care is known to a quarter."""
    parts = [Component(name, 0.3, 8.0, "B", doubt=CARE) for name in ("pointing", "scale fit")]
    assert Budget(tuple(parts)).dof == pytest.approx(8.0)
    apart = [Component(name, 0.3, 8.0, "B") for name in ("pointing", "scale fit")]
    assert Budget(tuple(apart)).dof == pytest.approx(16.0)
    sure = (*parts, Component("lens", 0.3, math.inf, "A"))
    assert Budget(sure).dof == pytest.approx((3 * 0.09) ** 2 / ((2 * 0.09) ** 2 / 8))


def test_one_doubt_holds_as_often_as_it_says() -> None:
    """Two errors of equal size, spread by one care drawn from its chi-square: the pooled factor holds 95 %."""
    rng = np.random.default_rng(4)
    care = np.sqrt(8 / rng.chisquare(8, 200_000))
    error = care * (rng.standard_normal(200_000) + rng.standard_normal(200_000))
    budget = Budget(tuple(Component(name, 1.0, 8.0, "B", doubt=CARE) for name in ("pointing", "scale fit")))
    assert np.mean(np.abs(error) <= budget.factor() * budget.u) == pytest.approx(0.95, abs=0.002)


def test_repeated_readings_keep_the_form_of_what_they_share() -> None:
    def one(value: float, u: float) -> Reading:
        return Reading(
            "distance", value, "mm", Budget((Component("pointing", 0.1, 8.0, "B", doubt=CARE), even("e", u)))
        )

    shared = combine([one(10.0, 0.2), one(10.1, 0.4)]).budget.components[1]
    assert shared.u == pytest.approx(0.3)
    assert np.std(shared.errors[0]) == pytest.approx(0.3)


def test_a_source_of_likely_maps_gives_what_the_figure_really_does() -> None:
    """A figure that is of second order in the map: its errors are one-sided, and no derivative would find them."""
    maps = tuple((lambda points, s=s: points + s) for s in (0.0, -0.2, -0.1, 0.1, 0.2))
    source = Source("tilt", "B", math.inf, (), likely=maps)
    (found,) = source.components(lambda points: np.array([float((points**2).sum())]), np.zeros((1, 2)))
    assert found.errors[0] == pytest.approx([0.08, 0.02, 0.02, 0.08])
    assert found.u == pytest.approx(math.sqrt((2 * 0.08**2 + 2 * 0.02**2) / 4))


def test_lengths_along_two_points_are_not_foreshortened_and_lengths_across_are() -> None:
    """With both on the axis of the camera there is no perspective: what is left is 1 - cos of the lean across.

    Anywhere within a cone of half-angle T the squared lean is even in 0..T^2; along and across differ by
    t^2 / 2 (cos^2 - sin^2 of its direction), whose standard deviation is T^2 / (2 sqrt(6)).
    """
    lens = pinhole(2001, 2001, 2000.0)
    ends = np.array([[900.0, 1000], [1100, 1000]])
    found = length_scale(ends, (100.0, 0.01), 0.5, 0.0, Optics(2001, 2001, lens), Object(), 5.0)

    def tilt(picks: list[list[float]]) -> float:
        (reading,) = measure(found.view, "distance", np.array(picks), Pointing(0.5))
        return next(part.u for part in reading.budget.components if part.name == "tilt") / reading.value

    along, across = tilt([[900.0, 1000], [1100, 1000]]), tilt([[1000.0, 900], [1000, 1100]])
    assert along < 1e-12
    assert across == pytest.approx(math.radians(5) ** 2 / 2 / math.sqrt(6), rel=0.05)
