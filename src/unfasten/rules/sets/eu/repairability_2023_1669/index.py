"""R, the repairability index, and its class."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from fractions import Fraction

from unfasten.evidence.interval import Interval, decimal_text, round_half_up, short_text
from unfasten.evidence.parameter import Law
from unfasten.rules.criterion import Grade, Readings
from unfasten.rules.node import Node
from unfasten.rules.scoring import band, number, weighted, words

INDEX_CLAUSE = "Annex IV, point 5"
CLASS_CLAUSE = "Annex II, Table 4"


def index(scores: Mapping[str, Node], law: Law) -> Node:
    """R as the weighted sum of the scores."""
    figure = law("index.weights")
    children = tuple(replace(scores[name], weight=share) for name, share in figure.table.items())
    formula = " + ".join(f"{short_text(share)} {name}" for name, share in figure.table.items())
    return Node("R", "repairability index", weighted(children), (f"R = {formula}",), children, uses=(figure,))


def grade(points: Interval, law: Law, readings: Readings) -> Grade:
    """The class of an index, from its exact value or rounded first (reading `class-rounding`)."""
    (low, why_low), (high, why_high) = (_letter(value, law, readings) for value in (points.low, points.high))
    uses = [law("class.limits")]
    if readings["class-rounding"] == "rounded-first":
        uses.append(law("index.decimals"))
    return Grade(low, high, (why_low,) if points.is_known else (why_low, why_high), tuple(uses))


def _letter(value: Fraction, law: Law, readings: Readings) -> tuple[str, str]:
    text = decimal_text(value)
    if readings["class-rounding"] == "rounded-first":
        value = round_half_up(value, int(law("index.decimals").number))
        text += f", rounded to {decimal_text(value)} first,"
    row = band(law("class.limits").rows, value)
    if row is None:
        raise ValueError(f"an index of {value} lies below every class")
    letter = words(row, "class")[0]
    return letter, f"{text} is class {letter}, which starts at {decimal_text(number(row, 'at_least'))}"
