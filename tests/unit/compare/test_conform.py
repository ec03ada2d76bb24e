"""Decision rules: what is accepted, what is rejected, and what is left open."""

from __future__ import annotations

from math import inf

import pytest

from unfasten.compare.conform import Rule, conformance, decide, decide_radial, radial


def test_between_acceptance_and_rejection_lies_what_is_open() -> None:
    rule = Rule()
    assert decide(10.0, 0.02, 9.9, 10.1, rule)[0] == "shown"
    assert decide(10.08, 0.02, 9.9, 10.1, rule)[0] == "open"  # 84 %
    assert decide(10.2, 0.02, 9.9, 10.1, rule)[0] == "against"


def test_a_guard_band_of_two_u_accepts_less_than_95_percent_does() -> None:
    value, u = 10.065, 0.02  # 1.75 u inside the limit: between 1.645 u and 2 u
    assert decide(value, u, 9.9, 10.1, Rule())[0] == "shown"
    assert decide(value, u, 9.9, 10.1, Rule("guard-band", k=2))[0] == "open"
    assert decide(10.05, u, 9.9, 10.1, Rule("guard-band", k=2))[0] == "shown"
    assert decide(10.15, u, 9.9, 10.1, Rule("guard-band", k=2))[0] == "against"


def test_a_certain_value_is_in_or_out() -> None:
    assert conformance(10.1, 0, 9.9, 10.1) == 1
    assert conformance(10.2, 0, 9.9, 10.1) == 0


def test_one_limit_only() -> None:
    assert conformance(0.5, 0.3, 0, inf) == pytest.approx(0.9522, abs=1e-4)  # Phi(1.6667)


@pytest.mark.parametrize(("y", "u", "low", "high"), [(1, -0.1, 0, 2), (1, 0.1, 2, 0), (float("nan"), 0.1, 0, 1)])
def test_nonsense_is_refused(y: float, u: float, low: float, high: float) -> None:
    with pytest.raises(ValueError, match="no conformance probability"):
        conformance(y, u, low, high)


def test_radial_probability_has_sensible_ends() -> None:
    assert radial(0.05, 0, 0.1) == 1
    assert radial(0.15, 0, 0.1) == 0
    assert radial(100, 0.03, 0.1) == 0
    assert radial(0, 0.001, 0.1) == 1
    assert 0.3 < radial(0.1, 0.03, 0.1) < 0.5  # on the rim: less than half, for the disc is round


def test_the_rule_says_what_it_is() -> None:
    assert str(Rule()) == "conformance probability at least 95 % (JCGM 106, ISO 14253-1:2017)"
    assert "guard band of 1.645 u" in str(Rule("guard-band", k=1.645))


def test_a_guard_band_round_a_place() -> None:
    rule = Rule("guard-band", k=2)
    assert decide_radial(0.03, 0.03, 0.1, rule)[0] == "shown"
    assert decide_radial(0.1, 0.03, 0.1, rule)[0] == "open"
    assert decide_radial(0.17, 0.03, 0.1, rule)[0] == "against"
