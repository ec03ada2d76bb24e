"""Words and figures: an open figure is never one number, and no text is longer or stranger than it may be."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest

from unfasten.service.report_words import clean, clock, listing, seconds, span, words


@pytest.mark.parametrize(
    ("low", "high", "places", "text", "is_open"),
    [
        (5, 7, 0, "5–7", True),
        (5, 5, 0, "5", False),
        (5, None, 0, "5–?", True),
        (None, None, 0, "none", False),
        (Decimal("81.4"), Decimal("96"), 1, "81.4–96.0", True),
        (Decimal("3.412"), Decimal("3.414"), 2, "3.412–3.414", True),
    ],
)
def test_span(low: Decimal | int | None, high: Decimal | int | None, places: int, text: str, is_open: bool) -> None:
    found = span(low, high, places)
    assert (found.text, found.open) == (text, is_open)


@pytest.mark.parametrize(("time", "text"), [(0, "0:00"), (59, "0:59"), (Fraction(119, 2), "1:00"), (655, "10:55")])
def test_clock(time: int | Fraction, text: str) -> None:
    assert clock(Fraction(time)) == text


@pytest.mark.parametrize(("time", "text"), [("81.35", "81.4"), ("81.25", "81.3"), ("0", "0.0"), ("1/3", "0.3")])
def test_seconds_are_rounded_half_up(time: str, text: str) -> None:
    assert str(seconds(Fraction(time))) == text


@pytest.mark.parametrize(
    ("given", "shown"),
    [
        ("a\n\t b", "a b"),
        ("a\u202eb", "a\ufffdb"),
        ("\x00", "\ufffd"),
        ("نمی\u200cخواهم", "نمی\u200cخواهم"),
        (None, ""),
        ("  ", ""),
    ],
)
def test_clean(given: str | None, shown: str) -> None:
    assert clean(given) == shown


def test_clean_cuts_with_an_ellipsis() -> None:
    assert clean("abcdef", 4) == "abc…"


def test_listing_and_words() -> None:
    assert listing([]) == ""
    assert listing(["a", "b", "c"]) == "a, b and c"
    assert words("display-assembly") == "Display assembly"
