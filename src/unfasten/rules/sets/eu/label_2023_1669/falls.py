"""Class of repeated free falls: most units must withstand the number of falls."""

from __future__ import annotations

import math
from collections.abc import Sequence
from fractions import Fraction

from unfasten.evidence.interval import Interval
from unfasten.evidence.parameter import Law
from unfasten.rules.case import Case
from unfasten.rules.criterion import Grade, Readings
from unfasten.rules.node import Fact
from unfasten.rules.quantity import Measure, quantity
from unfasten.rules.scoring import Row, number, words
from unfasten.rules.verdict import Look

BELOW = "below"


@quantity(
    "falls",
    title="repeated free falls",
    clause="Annexes, repeated free fall classes",
    needs=("falls.classes", "falls.units"),
)
def falls(case: Case, law: Law, readings: Readings) -> Measure:
    """The best class that enough units reach for certain, and the best that they may reach."""
    rows = [row for row in law("falls.classes").rows if words(row, "product") == (case.category,)]
    rows.sort(key=lambda row: -number(row, "falls"))
    lists = [("falls", case.tests.falls)] + ([("falls_extended", case.tests.falls_extended)] if _folds(rows) else [])
    reached = [_reached(units, law) for _, units in lists]
    low = _class(rows, [ends[0] for ends in reached])
    high = _class(rows, [ends[1] for ends in reached])
    tested = law("falls.units").table["tested"]
    short = [(name, int(tested) - len(units)) for name, units in lists if len(units) < tested]
    look = tuple(
        Look(f"how many falls do further units withstand? ({more} to go)", f"tests.{name}") for name, more in short
    )
    facts = tuple(Fact(f"tests.{n}", ", ".join(map(str, units)), "measured") for n, units in lists if units)
    first = reached[0]
    figure = (
        None if not lists[0][1] else Interval(Fraction(first[0]), Fraction(first[0] if first[1] is None else first[1]))
    )
    return Measure(
        "falls",
        "falls",
        "fall",
        figure,
        first[1] is None,
        Grade(low, high),
        reasons=_reasons(lists, reached, law),
        facts=facts,
        look=() if low == high else look,
    )


def _folds(rows: Sequence[Row]) -> bool:
    return any("extended" in row for row in rows)


def _reached(units: Sequence[int], law: Law) -> tuple[int, int | None]:
    """Falls that enough units withstand if those not tested withstand none; and if they withstand any number."""
    rule = law("falls.units").table
    number_of = max(int(rule["tested"]), len(units))
    enough = math.ceil(rule["withstood"] * number_of / rule["tested"])
    ranked, missing = sorted(units, reverse=True), number_of - len(units)
    low = ranked[enough - 1] if len(ranked) >= enough else 0
    return low, None if missing >= enough else ranked[enough - missing - 1]


def _class(rows: Sequence[Row], reached: Sequence[int | None]) -> str:
    for row in rows:
        asked = [number(row, key) for key in ("falls", "extended") if key in row]
        if all(found is None or found >= least for found, least in zip(reached, asked, strict=True)):
            return words(row, "class")[0]
    return f"{BELOW} {words(rows[-1], 'class')[0]}"


def _reasons(
    lists: Sequence[tuple[str, Sequence[int]]], reached: Sequence[tuple[int, int | None]], law: Law
) -> tuple[str, ...]:
    rule = law("falls.units").table
    out = []
    for (name, units), (low, high) in zip(lists, reached, strict=True):
        how = "extended" if name == "falls_extended" else "folded or flat"
        upto = "any number" if high is None else str(high)
        text = str(low) if high == low else f"{low} to {upto}"
        out.append(f"{how}: {int(rule['withstood'])} of {int(rule['tested'])} withstand {text} ({len(units)} tested)")
    return tuple(out)
