"""Batteries over many labels: readings hold what was written, energy and verdicts keep to plain rules."""

from __future__ import annotations

from datetime import date
from fractions import Fraction
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from support.small_record import record
from unfasten.battery.difference import changes
from unfasten.battery.energy import energy_of
from unfasten.battery.marking import designate, markings
from unfasten.battery.ranking import fits_size, rank
from unfasten.battery.sheet import Sheet, sheet_of
from unfasten.record.part import Battery

DAY = date(2026, 6, 1)
SIDE = st.integers(min_value=3, max_value=9990).map(lambda tenths: Fraction(tenths, 10))
COUNT = st.integers(min_value=1, max_value=9)

#: labels that do not contradict themselves
LABELS = [
    {
        "nominal_voltage": "3.87 V",
        "charge_voltage": "4.45 V",
        "rated_capacity": f"{mah} mAh",
        "marked_energy": f"{wh} Wh",
    }
    for mah, wh in ((600, "2.32"), (5000, "19.35"), (5200, "20.12"), (26000, "100.62"))
]
#: the other keys of a battery, with values that go together
KEYS: dict[str, st.SearchStrategy[Any]] = {
    "cells_in_series": st.just(1),
    "cells_in_parallel": st.just(2),
    "designation": st.sampled_from(["ICP5/59/92-2", "1ICP5/59/92-2"]),
    "chemistry": st.just("lithium-ion"),
    "size": st.just(["4.1 mm", "92 mm", "118 mm"]),
    "thickness": st.sampled_from(["4.1 ± 0.02 mm", "4.4 ± 0.05 mm", "5.0 ± 0.02 mm"]),
    "bay": st.sampled_from([["4.6 ± 0.03 mm", "93 ± 0.1 mm", "120 ± 0.1 mm"], ["4.2 ± 0.01 mm", "93 mm", "120 mm"]]),
    "mass": st.sampled_from(["70 g", "80 ± 0.1 g"]),
    "condition": st.sampled_from(["sound", "swollen", "damaged"]),
    "tested_un_38_3": st.booleans(),
    "state_of_charge": st.sampled_from(["20 ± 1 %", "30 %", "60 %"]),
    "enclosure": st.sampled_from(["soft", "metal"]),
}


def sheet(told: dict[str, Any]) -> Sheet:
    return sheet_of(record({"cell": {"battery": told}}, {}), "cell", (), DAY)


@st.composite
def batteries(draw: st.DrawFn) -> dict[str, Any]:
    label = draw(st.sampled_from(LABELS))
    keys = draw(st.lists(st.sampled_from(sorted([*KEYS, *label])), unique=True))
    return {key: label[key] if key in label else draw(KEYS[key]) for key in keys}


@given(st.tuples(SIDE, SIDE, SIDE), COUNT, COUNT)
def test_a_written_designation_is_read_back(sides: tuple[Fraction, ...], series: int, parallel: int) -> None:
    text = designate("lithium-ion", "manganese", "prismatic", sides, series, parallel)
    reading = markings(text)[0]
    assert (reading.scheme, reading.series, reading.parallel) == ("iec-61960", series, parallel)
    assert (reading.chemistry, reading.positive) == ("lithium-ion", "manganese")
    for side, true in zip(reading.sides, sides, strict=True):
        assert side.least < true <= side.mm


@given(st.tuples(SIDE, SIDE, SIDE), st.integers(1, 4), st.integers(0, 2))
def test_a_pack_of_its_own_cells_fits(sides: tuple[Fraction, ...], parallel: int, axis: int) -> None:
    (reading,) = [
        one
        for one in markings(designate("lithium-ion", "cobalt", "prismatic", sides, 1, parallel))
        if one.scheme == "iec-61960"
    ]
    pack = [side * (parallel if number == axis else 1) for number, side in enumerate(sides)]
    assert fits_size(reading, pack, parallel)


@given(st.from_regex(r"[0-9A-Zt/ -]{0,14}", fullmatch=True))
def test_any_text_is_read_or_not_but_never_breaks(text: str) -> None:
    readings = markings(text)
    ranked = rank(readings, Fraction(20), [Fraction(4), Fraction(60), Fraction(90)], None)
    assert sorted(map(str, readings)) == sorted(str(one.marking) for one in ranked)
    assert [one.against for one in ranked] == sorted(one.against for one in ranked)
    assert len(set(readings)) == len(readings)


@given(st.integers(300, 460), st.integers(1, 30000))
def test_a_mark_rounded_from_the_product_agrees(centivolt: int, mah: int) -> None:
    exact = Fraction(centivolt * mah, 100_000)
    battery = Battery.model_validate(
        {
            "nominal_voltage": f"{centivolt / 100:.2f} V",
            "rated_capacity": f"{mah} mAh",
            "marked_energy": f"{float(round(exact, 2)):.2f} Wh",
        }
    )
    found = energy_of(battery)
    assert found.verdict == "agrees"
    assert found.computed is not None
    assert found.computed.low <= exact <= found.computed.high


@settings(max_examples=150)
@given(st.sampled_from(LABELS), st.data())
def test_adding_evidence_never_turns_a_verdict_back_to_unknown(label: dict[str, Any], data: st.DataObject) -> None:
    every = [*KEYS, *label]
    keys = data.draw(st.lists(st.sampled_from(sorted(every)), unique=True, min_size=1))
    told = {key: label[key] if key in label else data.draw(KEYS[key]) for key in keys}
    key = keys[-1]
    before, after = sheet({name: value for name, value in told.items() if name != key}), sheet(told)
    for one, two in zip((before.room, *before.transport), (after.room, *after.transport), strict=True):
        if one.id == "swelling-room" and key == "thickness":
            continue  # a measured thickness takes the place of the nominal one: other evidence, not more
        assert one.verdict == "unknown" or two.verdict != "unknown", one.id
    for fact, later in zip(before.facts, after.facts, strict=False):
        if fact.id == later.id:
            assert fact.value is None or later.value is not None, fact.id


@settings(max_examples=100)
@given(batteries())
def test_unknown_says_what_to_look_at(told: dict[str, Any]) -> None:
    made = sheet(told)
    for fact in made.facts:
        assert fact.value is not None or fact.look, fact.id
    for ruling in (made.room, *made.transport):
        assert ruling.verdict != "unknown" or ruling.look, ruling.id
    assert len({fact.id for fact in made.facts}) == len(made.facts)


@settings(max_examples=100)
@given(batteries(), batteries())
def test_changes_mirror_and_vanish_against_itself(one: dict[str, Any], two: dict[str, Any]) -> None:
    before, after = sheet(one), sheet(two)
    for there, back in zip(changes(before, after), changes(after, before), strict=True):
        assert there.sure == back.sure
        assert there.difference == (None if back.difference is None else -back.difference)
    for change in changes(before, before):
        assert not change.sure
        assert not change.difference
