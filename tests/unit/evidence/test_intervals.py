"""Exact intervals and decimal texts."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest

from unfasten.evidence.interval import (
    Interval,
    decimal_text,
    exact,
    hull,
    known,
    lowest,
    round_half_up,
    short_text,
)


def test_ends_in_order() -> None:
    with pytest.raises(ValueError, match="down to"):
        Interval(Fraction(2), Fraction(1))


def test_sums_and_scales() -> None:
    wide = Interval(Fraction(1), Fraction(3))
    assert wide + known(2) == Interval(Fraction(3), Fraction(5))
    assert wide.scaled(Fraction(1, 2)) == Interval(Fraction(1, 2), Fraction(3, 2))
    assert (wide.width, wide.is_known, known(1).is_known) == (2, False, True)
    with pytest.raises(ValueError, match="negative"):
        wide.scaled(Fraction(-1))


def test_lowest_takes_the_least_end_by_end_and_hull_spans_all() -> None:
    a, b = Interval(Fraction(1), Fraction(5)), known(3)
    assert lowest([a, b]) == Interval(Fraction(1), Fraction(3))
    assert hull([b, a]) == a
    assert a.holds(b)
    assert not b.holds(a)
    with pytest.raises(ValueError, match="empty"):
        lowest([])


@pytest.mark.parametrize("text", ["0.1", "2.4575", "-3", "1e2", "", "0,5", "1/3", "٣"])
def test_numbers_are_read_as_written(text: str) -> None:
    if text in ("0.1", "2.4575", "-3"):
        assert exact(text) == Fraction(text)
    else:
        with pytest.raises(ValueError, match="no decimal"):
            exact(text)


def test_other_kinds_of_numbers_are_read_exactly() -> None:
    assert exact(0.15) == Fraction(15, 100)
    assert exact(Decimal("0.30")) == Fraction(3, 10)
    assert exact(7) == exact(Fraction(7)) == 7
    for wrong in (True, None, [1]):
        with pytest.raises(ValueError, match="no number"):
            exact(wrong)


def test_decimal_text_is_exact_and_has_at_least_two_places() -> None:
    assert [decimal_text(Fraction(n, d)) for n, d in ((0, 1), (5, 1), (983, 400), (-1, 8), (1, 100))] == [
        "0.00",
        "5.00",
        "2.4575",
        "-0.125",
        "0.01",
    ]
    with pytest.raises(ValueError, match="no exact"):
        decimal_text(Fraction(1, 3))
    assert (short_text(Fraction(5)), short_text(Fraction(-1, 4))) == ("5", "-0.25")


def test_rounding_takes_a_half_up() -> None:
    assert [decimal_text(round_half_up(exact(t), 2)) for t in ("3.345", "3.3449", "2.675")] == ["3.35", "3.34", "2.68"]
