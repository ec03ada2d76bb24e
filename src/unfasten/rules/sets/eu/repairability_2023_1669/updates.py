"""S_SU, software updates: years of guaranteed updates from the end of placement on the market."""

from __future__ import annotations

import math

from unfasten.evidence.interval import known, short_text
from unfasten.evidence.parameter import Law
from unfasten.rules.criterion import Readings, criterion
from unfasten.rules.facts import Product
from unfasten.rules.node import Fact, Node, Remark
from unfasten.rules.scoring import band, number, scale
from unfasten.rules.sets.eu.repairability_2023_1669.offscale import off_scale

PLACE = "supply.updates.years"
TITLE = "software updates"


@criterion("S_SU", title=TITLE, clause="Annex IV, point 5", needs=("updates.points", "points.scale"))
def software_updates(product: Product, law: Law, readings: Readings) -> Node:
    """Points by whole years; years that are not known leave the whole scale open."""
    figure, updates = law("updates.points"), product.supply.updates
    if updates is None:
        remark = Remark("open", "for how many years are updates guaranteed?", PLACE)
        reason = "the years of guaranteed updates are not known; below the last level the law has none"
        return Node("S_SU", TITLE, scale(law), (reason,), uses=(figure,), remarks=(remark,))
    years = math.floor(updates.years)
    fact = Fact(PLACE, f"{updates.years} years", "claimed")
    row = band(figure.rows, years)
    if row is None:
        what = f"{years} whole years of updates reach no level"
        return off_scale("S_SU", TITLE, what, PLACE, law, readings, (fact,))
    points = number(row, "points")
    reason = f"{years} whole years: at least {short_text(number(row, 'at_least'))} give {short_text(points)}"
    return Node("S_SU", TITLE, known(points), (reason,), uses=(figure,), facts=(fact,))
