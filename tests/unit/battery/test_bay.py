"""The bay: densities, share of volume, and the probability that a cell has room to swell."""

from __future__ import annotations

from typing import Any

import pytest

from unfasten.battery.bay import fill_facts, gap, growth, swelling
from unfasten.record.part import Battery

MADE = {
    "size": ["4.0 mm", "90 mm", "110 mm"],
    "thickness": "4.20 ± 0.03 mm",
    "bay": ["4.90 ± 0.03 mm", "91 ± 0.1 mm", "111 ± 0.1 mm"],
}


def made(**more: Any) -> Battery:
    return Battery.model_validate({key: value for key, value in {**MADE, **more}.items() if value is not None})


def test_room_and_growth_carry_their_uncertainty() -> None:
    room, grown = gap(made()), growth(made())
    assert room.text == "0.70 ± 0.04 mm"  # u = sqrt(0.03² + 0.03²) = 0.042
    assert grown.text == "5.0 ± 0.8 %"  # 0.03 / 4.0 = 0.75 %


@pytest.mark.parametrize(
    ("depth", "verdict"),
    [("4.90 ± 0.03 mm", "met"), ("4.62 ± 0.03 mm", "unknown"), ("4.30 ± 0.03 mm", "not met")],
)
def test_room_is_judged_by_probability(depth: str, verdict: str) -> None:
    chance, ruling = swelling(made(bay=[depth, "91 mm", "111 mm"]))
    assert ruling.verdict == verdict
    assert isinstance(chance.value, float)
    assert bool(ruling.look) is (verdict == "unknown")
    assert ruling.figures[0].confidence == "B"
    assert "usual practice, no standard" in ruling.says


def test_half_of_the_chance_where_the_room_just_suffices() -> None:
    chance, _ = swelling(made(bay=["4.62 ± 0.03 mm", "91 mm", "111 mm"]))  # 1.1 x 4.20 = 4.62
    assert chance.value == pytest.approx(0.5)


@pytest.mark.parametrize(
    ("more", "missing"),
    [
        ({"bay": None}, "measure the bay"),
        ({"thickness": None, "size": None}, "measure the thickness"),
        ({"thickness": "4.20 mm"}, "assess the uncertainty of the thickness"),
        ({"bay": ["4.9 mm", "91 mm", "111 mm"]}, "assess the uncertainty of the bay's depth"),
    ],
)
def test_what_is_missing_is_unknown_and_named(more: dict[str, Any], missing: str) -> None:
    chance, ruling = swelling(made(**more))
    assert (chance.value, ruling.verdict) == (None, "unknown")
    assert any(text.startswith(missing) for text in ruling.look)


def test_no_uncertainty_is_not_zero_uncertainty() -> None:
    exact, _ = swelling(made(thickness="4.20 ± 0 mm", bay=["4.90 ± 0 mm", "91 mm", "111 mm"]))
    assert exact.value == 1.0
    volume = fill_facts(made(), 20.0, None)[0]
    assert volume.u is None


def test_share_counts_the_battery_as_it_is_now() -> None:
    _, _, share = fill_facts(made(size=["4.0 ± 0.01 mm", "90 ± 0.1 mm", "110 ± 0.1 mm"]), 20.0, None)
    assert share.value == pytest.approx(100 * 4.2 * 90 * 110 / (4.9 * 91 * 111))
    # relative: 0.03/4.2, 0.1/90, 0.1/110, 0.03/4.9, 0.1/91, 0.1/111
    assert share.u == pytest.approx(float(share.value or 0) * 0.009629, rel=1e-3)


def test_nothing_is_divided_by_zero() -> None:
    flat = made(size=["0 mm", "90 mm", "110 mm"], bay=["0 mm", "91 mm", "111 mm"])
    assert [fact.value for fact in fill_facts(flat, 20.0, None)] == [None, None, None]
    assert growth(flat).value is None
