"""How soon parts and answers come, whether prices are public, and how long updates last."""

from __future__ import annotations

import math
from collections.abc import Sequence
from fractions import Fraction

from unfasten.evidence.interval import known
from unfasten.evidence.parameter import Law
from unfasten.record.product import Delivery
from unfasten.rules.case import Case
from unfasten.rules.criterion import Readings
from unfasten.rules.limits import among, at_least, at_most, counted
from unfasten.rules.node import Fact
from unfasten.rules.requirement import requirement
from unfasten.rules.scoring import number
from unfasten.rules.verdict import Look, Ruling, all_of


@requirement(
    "delivery",
    title="delivery of spare parts",
    clause="Annex II, parts B and D, delivery of spare parts",
    needs=("delivery.days", "parts.years"),
)
def delivery(case: Case, law: Law, readings: Readings) -> Ruling:
    """Working days in each year for which parts must be offered; years alike are told together."""
    rows, last = law("delivery.days").rows, int(law("parts.years").number)
    starts = [int(number(row, "from_year")) for row in rows]
    children = []
    for row, start, after in zip(rows, starts, [*starts[1:], last + 1], strict=True):
        children += _span(start, min(after - 1, last), number(row, "days"), case.supply.delivery)
    return all_of("delivery", "delivery", children)


def _span(first: int, last: int, limit: Fraction, said: Sequence[Delivery]) -> list[Ruling]:
    """Rulings for the years `first` to `last`, one for each run of years with the same days."""
    out, start = [], first
    for year in range(first, last + 1):
        if year == last or _days(said, year + 1) != _days(said, year):
            title = f"year {start}" if start == year else f"years {start} to {year}"
            days = _days(said, year)
            fact = Fact("supply.delivery", counted(days, "working day"), "claimed")
            look = Look(f"within how many working days are parts delivered in {title}?", "supply.delivery")
            out.append(at_most(f"delivery.{start}", title, days, limit, fact, look))
            start = year + 1
    return out


def _days(said: Sequence[Delivery], year: int) -> int | None:
    live = [row for row in said if row.year <= year]
    return max(live, key=lambda row: row.year).days if live else None


@requirement("prices", title="published prices of spare parts", clause="Annex II, parts B and D, prices", needs=())
def prices(case: Case, law: Law, readings: Readings) -> Ruling:
    """Prices of all listed parts stand on a free website."""
    look = Look("are the prices of all listed parts, fasteners and tools on a free website?", "supply.prices")
    return among("prices", "prices", case.supply.prices, ("all",), "claimed", look)


@requirement(
    "response",
    title="registration and access to repair information",
    clause="Annex II, parts B and D, access to repair and maintenance information",
    needs=("response.days",),
)
def response(case: Case, law: Law, readings: Readings) -> Ruling:
    """Working days until a repairer is registered, and until information is given."""
    said = case.supply.response
    children = []
    for key, limit in law("response.days").table.items():
        days, at = getattr(said, key), f"supply.response.{key}"
        fact, look = Fact(at, counted(days, "working day"), "claimed"), Look(f"how many working days for {key}?", at)
        children.append(at_most(at, key, days, limit, fact, look))
    return all_of("response", "response", children)


@requirement(
    "update-years",
    title="years of software updates",
    clause="Annex II, parts B and D, software updates",
    needs=("updates.years",),
)
def update_years(case: Case, law: Law, readings: Readings) -> Ruling:
    """Whole years from the end of placement on the market."""
    updates, at = case.supply.updates, "supply.updates.years"
    years = None if updates is None else math.floor(updates.years)
    fact, look = Fact(at, f"{years} whole years", "claimed"), Look("for how many years are updates guaranteed?", at)
    if updates is not None and not updates.years:
        law("updates.years")
        why = ("none are guaranteed, and the rule speaks of updates that are provided",)
        ask = (Look("are software updates provided at all, and for how long?", at),)
        return Ruling("update-years", "updates", "unknown", why, facts=(fact,), look=ask)
    found = None if years is None else known(years)
    return at_least("update-years", "updates", found, law("updates.years").number, fact, look)
