"""Readings of a designation: all of them, ranked by size and density, none taken for granted."""

from __future__ import annotations

from fractions import Fraction

import pytest

from unfasten.battery.marking import designate, markings
from unfasten.battery.ranking import fits_size, rank


def read(text: str) -> list[tuple[str, str]]:
    return [(reading.scheme, reading.size_text) for reading in markings(text)]


def test_letters_and_counts_of_the_designation() -> None:
    (reading,) = markings("2ICP5/59/124-3")
    assert (reading.series, reading.parallel, reading.cells) == (2, 3, 6)
    assert (reading.chemistry, reading.positive, reading.shape) == ("lithium-ion", "cobalt", "prismatic")
    assert [(side.least, side.mm) for side in reading.sides] == [(4, 5), (58, 59), (123, 124)]


def test_no_count_in_front_or_behind_means_one() -> None:
    (reading,) = markings("INR19/66")
    assert (reading.series, reading.parallel, reading.cells, reading.shape) == (1, 1, 1, "round")


@pytest.mark.parametrize("text", ["ICR18650-26", "INR18650-25R"])
def test_a_makers_suffix_is_no_count_of_cells(text: str) -> None:
    (reading,) = markings(text)
    assert (reading.scheme, reading.series, reading.parallel, reading.cells) == ("iec-older", 1, None, None)
    assert [markings(f"ICP5/59/92-{suffix}") for suffix in ("2A", "0", "999")] == [()] * 3


def test_a_trade_code_does_not_tell_how_many_cells() -> None:
    assert {(reading.series, reading.parallel, reading.cells) for reading in markings("803450")} == {(None, None, None)}


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        ("063048", [("trade-tenths", "0.6 x 30 x 48 mm"), ("trade-whole", "6 x 30 x 48 mm")]),
        ("803450", [("trade-tenths", "8 x 34 x 50 mm"), ("trade-whole", "80 x 34 x 50 mm")]),
        ("18650", [("trade-round", "18 x 65 mm")]),
        ("ICR18650", [("iec-older", "18 x 65 mm")]),
        ("BT-T11-A", []),
        ("ICP5/59", []),
        ("ICP0/59/92", []),
        ("ICP000000", []),
        ("", []),
    ],
)
def test_every_reading_is_given(text: str, wanted: list[tuple[str, str]]) -> None:
    assert read(text) == wanted


def test_a_letter_that_was_not_read_in_the_source_is_not_decoded() -> None:
    (reading,) = markings("IFP5/59/92")
    assert (reading.positive, reading.letter) == (None, "F")
    assert (
        "letter F of the positive electrode is not coded; see the source" in rank([reading], None, None, None)[0].says
    )


def test_both_readings_of_a_slashed_text_with_two_digits_each_are_given() -> None:
    assert [scheme for scheme, _ in read("ICP10/34/50")] == ["iec-61960", "iec-older"]


def test_density_alone_ranks_the_trade_code() -> None:
    best, other = rank(markings("LP803450"), Fraction("5.18"), None, 1)
    assert (best.marking.size_text, best.plausible, best.against) == ("8 x 34 x 50 mm", True, 0)
    assert (other.marking.scheme, other.plausible, other.against) == ("trade-whole", False, 1)
    assert round(float(best.density or 0)) == 381


def test_without_energy_and_size_nothing_speaks_against_any() -> None:
    ranked = rank(markings("063048"), None, None, None)
    assert [(one.against, one.density, one.fits_size) for one in ranked] == [(0, None, None)] * 2


@pytest.mark.parametrize(
    ("marking", "energy", "scheme", "density"),
    [
        ("063048", "3.33", "trade-whole", 385),  # 0.9 Ah at 3.7 V; a data sheet gives 6 x 30 x 48 mm
        ("803450", "5.18", "trade-tenths", 381),  # data sheet: 381 Wh/L
        ("LP552035", "1.295", "trade-tenths", 336),  # data sheet: 336 Wh/L
    ],
)
def test_where_nobody_counted_the_cells_the_density_of_one_ranks(
    marking: str, energy: str, scheme: str, density: int
) -> None:
    """Data sheets of pouch cells, as the reference of the field lists them."""
    best, other = rank(markings(marking), Fraction(energy), None, None)
    assert (best.marking.scheme, round(float(best.density or 0)), best.if_one) == (scheme, density, True)
    assert (best.plausible, other.plausible) == (True, False)
    assert f"would be {density} Wh/L if it is one cell, plausible" in best.says


def test_size_outweighs_density() -> None:
    ranked = rank(markings("063048"), Fraction("0.5"), [Fraction(6), Fraction(30), Fraction(48)], 1)
    assert (ranked[0].marking.scheme, ranked[0].fits_size, ranked[0].plausible) == ("trade-whole", True, False)
    assert ranked[1].fits_size is False


@pytest.mark.parametrize(
    ("size", "fits"),
    [
        (("4.1", "92", "118"), True),  # two cells of 59 mm side by side
        (("118", "4.1", "92"), True),  # sides in any order
        (("8.2", "59", "92"), True),  # one on the other, 4.1 mm each
        (("4.1", "59", "92"), False),  # one cell only
        (("4.1", "92", "130"), False),
    ],
)
def test_cells_make_up_the_pack_in_one_row(size: tuple[str, ...], fits: bool) -> None:
    (reading,) = markings("1ICP5/59/92-2")
    assert fits_size(reading, [Fraction(side) for side in size], 2) is fits


def test_writing_a_designation_rounds_up() -> None:
    sides = (Fraction("4.1"), Fraction(59), Fraction("91.2"))
    assert designate("lithium-ion", "cobalt", "prismatic", sides, 1, 2) == "ICP5/59/92-2"
    with pytest.raises(ValueError, match="no letter stands for 'iron'"):
        designate("lithium-ion", "iron", "prismatic", sides)
