"""Date codes of year and week: YYWW (EIA-476, ECIA NIGP 117.00) with ISO weeks, and its longer and shorter forms.

An ISO week begins on Monday; week 1 is the one with the year's first Thursday (ISO 8601). A code gives no century, so
every year it could mean is listed, with the reason where it is excluded.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Final

#: packaged integrated circuits are not older than this year (from memory); earlier readings are excluded, and shown
EARLIEST_YEAR: Final = 1960
#: a code with one digit of the year is followed back over so many years
_DECADES_BACK: Final = 30
_FORMS: Final = {3: "YWW", 4: "YYWW", 6: "YYYYWW"}
_IN_TEXT: Final = re.compile(r"(?<![0-9A-Z])\d{4}(?![0-9A-Z])")


@dataclass(frozen=True, slots=True)
class Reading:
    """One year that a code can mean: the Monday its week begins on; `reason` says why it is excluded, if it is."""

    year: int
    week: int
    monday: date | None
    reason: str = ""

    def as_json(self) -> dict[str, object]:
        """Year, week, first and last day."""
        return {
            "year": self.year,
            "week": self.week,
            "from": None if self.monday is None else self.monday.isoformat(),
            "to": None if self.monday is None else (self.monday + timedelta(days=6)).isoformat(),
            "reason": self.reason or None,
        }


@dataclass(frozen=True, slots=True)
class DateCode:
    """A code with every year it can mean, latest first, and every one it cannot, with the reason."""

    code: str
    form: str
    made_before: date
    readings: tuple[Reading, ...]
    excluded: tuple[Reading, ...]
    says: tuple[str, ...]

    def as_json(self) -> dict[str, object]:
        """Everything in JSON."""
        return {
            "code": self.code,
            "form": self.form or None,
            "made_before": self.made_before.isoformat(),
            "readings": [one.as_json() for one in self.readings],
            "excluded": [one.as_json() for one in self.excluded],
            "says": list(self.says),
        }


def read_date_code(code: str, made_before: date) -> DateCode:
    """Every week that a code of 3, 4 or 6 digits can mean, given that the part existed on `made_before`.

    >>> str(read_date_code("2314", date(2026, 1, 1)).readings[0].monday)
    '2023-04-03'
    """
    form = _FORMS.get(len(code), "") if code.isascii() and code.isdigit() else ""
    if not form:
        says = "a date code of year and week has 3, 4 or 6 digits; makers also use letters and marks of their own"
        return DateCode(code, "", made_before, (), (), (says,))
    week = int(code[-2:])
    every = [_reading(year, week, made_before) for year in _years(code[:-2], made_before)]
    readings = tuple(one for one in every if not one.reason)
    excluded = tuple(one for one in every if one.reason)
    return DateCode(code, form, made_before, readings, excluded, tuple(_says(code, form, readings, made_before)))


def codes_in(text: str, made_before: date) -> tuple[DateCode, ...]:
    """Groups of four digits in a marking that can be a date code; that they are one is not said."""
    found = (read_date_code(code, made_before) for code in four_digits(text))
    return tuple(code for code in found if code.readings)


def four_digits(text: str) -> tuple[str, ...]:
    """Groups of four digits that stand by themselves, each once.

    >>> four_digits("FWA11 2547 / K2546, 2547")
    ('2547',)
    """
    return tuple(dict.fromkeys(match[0] for match in _IN_TEXT.finditer(text.upper())))


def weeks_in(year: int) -> int:
    """52 or 53: December 28 always lies in the last week (ISO 8601).

    >>> [year for year in range(2019, 2033) if weeks_in(year) == 53]
    [2020, 2026, 2032]
    """
    return date(year, 12, 28).isocalendar().week


def _years(digits: str, made_before: date) -> list[int]:
    if len(digits) == 4:
        return [int(digits)]
    if len(digits) == 2:
        return [century + int(digits) for century in (2000, 1900)]
    first = made_before.year - _DECADES_BACK
    return [year for year in range(made_before.year, first, -1) if year % 10 == int(digits)]


def _reading(year: int, week: int, made_before: date) -> Reading:
    if not 1 <= year <= 9998:
        return Reading(year, week, None, f"{year} is no year")
    if not 1 <= week <= 53:
        return Reading(year, week, None, f"there is no week {week:02d}; weeks run from 01 to 52 or 53")
    if week > weeks_in(year):
        return Reading(year, week, None, f"{year} has {weeks_in(year)} weeks")
    monday = date.fromisocalendar(year, week, 1)
    if year < EARLIEST_YEAR:
        return Reading(year, week, monday, f"before {EARLIEST_YEAR} no such part was made")
    if monday > made_before:
        return Reading(year, week, monday, f"the week begins on {monday}, and the part existed on {made_before}")
    return Reading(year, week, monday)


def _says(code: str, form: str, readings: tuple[Reading, ...], made_before: date) -> Iterator[str]:
    if len(readings) > 1:
        yield "the code does not say which of these years; a known day before which the part was made may"
    if form == "YWW":
        yield f"one digit of the year repeats every ten years; {_DECADES_BACK} years back were looked at"
    if readings:
        yield "it tells the week of marking or sealing, not of assembly into the product"
        return
    yield "no week fits: a misread digit, a lot number, or a maker's own code"
    if form == "YYWW":
        turned = [_reading(century + int(code[2:]), int(code[:2]), made_before) for century in (2000, 1900)]
        for one in turned:
            if not one.reason:
                yield f"with the week first (WWYY) it would be week {one.week} of {one.year}; that is not EIA-476"
