"""Date codes: weeks of ISO 8601, centuries, codes that cannot be, and groups of digits in a marking."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from unfasten.photo.identify.datecode import codes_in, read_date_code, weeks_in

TODAY = date(2026, 11, 25)


def mondays(code: str, made_before: date = TODAY) -> list[str]:
    return [str(one.monday) for one in read_date_code(code, made_before).readings]


@pytest.mark.parametrize(
    ("code", "wanted"),
    [
        ("2615", ["2026-04-06"]),
        ("2314", ["2023-04-03"]),
        ("2001", ["2019-12-30"]),  # week 1 of 2020 begins in 2019
        ("2053", ["2020-12-28"]),
        ("7501", ["1974-12-30"]),
        ("202615", ["2026-04-06"]),
        ("615", ["2026-04-06", "2016-04-11", "2006-04-10"]),
        ("2553", []),
        ("2600", []),
        ("2654", []),
        ("2649", []),  # after the day on which it existed
    ],
)
def test_codes(code: str, wanted: list[str]) -> None:
    assert mondays(code) == wanted


def test_every_day_lies_in_the_week_of_its_code() -> None:
    day = date(2015, 1, 1)
    while day < TODAY:
        year, week, _ = day.isocalendar()
        (one,) = read_date_code(f"{year % 100:02d}{week:02d}", TODAY).readings
        assert one.monday is not None
        assert one.monday <= day < one.monday + timedelta(days=7)
        day += timedelta(days=5)


def test_years_of_53_weeks_agree_with_the_calendar_of_the_language() -> None:
    for year in range(1990, 2060):
        days = (date(year, 1, 1) + timedelta(days=number) for number in range(366))
        weeks = {day.isocalendar().week for day in days if day.isocalendar().year == year}
        assert weeks_in(year) == max(weeks)


def test_each_century_is_shown_with_the_reason_where_it_is_excluded() -> None:
    found = read_date_code("2615", TODAY)
    assert [(one.year, one.reason) for one in found.excluded] == [(1926, "before 1960 no such part was made")]
    assert [one.year for one in read_date_code("6520", TODAY).readings] == [1965]
    late = read_date_code("6520", date(2070, 1, 1))
    assert [one.year for one in late.readings] == [2065, 1965]
    assert "does not say which" in late.says[0]


def test_what_cannot_be_is_explained() -> None:
    assert read_date_code("2553", TODAY).excluded[0].reason == "2025 has 52 weeks"
    assert "no week 00" in read_date_code("2600", TODAY).excluded[0].reason
    assert "the part existed on 2026-11-25" in read_date_code("2653", TODAY).excluded[0].reason
    turned = read_date_code("1599", TODAY)
    assert any("week 15 of 1999; that is not EIA-476" in text for text in turned.says)
    for code in ("26A5", "26", "26155", "", "２６１５", "-261"):
        found = read_date_code(code, TODAY)
        assert (found.form, found.readings) == ("", ())
        assert "3, 4 or 6 digits" in found.says[0]


def test_groups_of_four_digits_in_a_marking() -> None:
    found = codes_in("FW8G1234 2615 9999 T2314 2553", TODAY)
    assert [code.code for code in found] == ["2615"]
