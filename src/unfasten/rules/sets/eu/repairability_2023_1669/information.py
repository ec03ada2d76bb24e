"""S_RI, repair information: at what price it is given, and who gets the board diagrams."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from itertools import product as combinations

from unfasten.evidence.interval import Interval, short_text
from unfasten.evidence.parameter import Law
from unfasten.rules.criterion import Readings, criterion
from unfasten.rules.facts import Product
from unfasten.rules.node import Fact, Node, Remark
from unfasten.rules.scoring import Row, number, scale, words
from unfasten.rules.sets.eu.repairability_2023_1669.offscale import off_scale

PLACE = "supply.repair_information"
TITLE = "repair information"
POSSIBLE: Mapping[str, tuple[str, ...]] = {
    "public": ("free", "fee", "none"),
    "professional": ("free", "fee", "none"),
    "board_diagrams": ("public", "professional", "none"),
}
QUESTIONS: Mapping[str, str] = {
    "public": "at what price do end users get repair information?",
    "professional": "at what price do professional repairers get repair information?",
    "board_diagrams": "who gets the board diagrams?",
}

State = Mapping[str, str]


@criterion("S_RI", title=TITLE, clause="Annex IV, point 5", needs=("repair_information.levels", "points.scale"))
def repair_information(product: Product, law: Law, readings: Readings) -> Node:
    """Points by price and diagrams; every possible answer to what is not known is tried."""
    rows, lowest = law("repair_information.levels").rows, scale(law).low
    said = {key: getattr(product.supply.repair_information, key) for key in POSSIBLE}
    facts = tuple(Fact(f"{PLACE}.{key}", value, "claimed") for key, value in said.items() if value)
    found = [_points(rows, state) for state in _states(said)]
    if not any(found):
        what = "the repair information offered reaches no level; the last one asks for a fee to professionals"
        return off_scale("S_RI", TITLE, what, PLACE, law, readings, facts)
    levels = [lowest if points is None else points for points in found]
    return Node(
        "S_RI",
        TITLE,
        Interval(min(levels), max(levels)),
        _reasons(rows, said, found),
        uses=(law("repair_information.levels"),),
        facts=facts,
        remarks=_remarks(rows, said),
    )


def _states(said: Mapping[str, str | None]) -> list[State]:
    """Every way in which the unknown answers can turn out."""
    choices = [POSSIBLE[key] if value is None else (value,) for key, value in said.items()]
    return [dict(zip(said, state, strict=True)) for state in combinations(*choices)]


def _points(rows: tuple[Row, ...], state: State) -> Fraction | None:
    met = [number(row, "points") for row in rows if _is_met(row, state)]
    return max(met, default=None)


def _is_met(row: Row, state: State) -> bool:
    return all(state[key] in words(row, key) for key in row if key in POSSIBLE)


def _reasons(rows: tuple[Row, ...], said: Mapping[str, str | None], found: list[Fraction | None]) -> tuple[str, ...]:
    reached = {points for points in found if points is not None}
    texts = [_row_text(row) for row in rows if number(row, "points") in reached]
    unknown = [key.replace("_", " ") for key, value in said.items() if value is None]
    if unknown and len(set(found)) > 1:
        texts.insert(0, f"not known: {', '.join(unknown)}; possible are")
    if None in found:
        texts.append("or no level is reached, the lowest stands for it")
    return tuple(texts)


def _row_text(row: Row) -> str:
    asked = [f"{key.replace('_', ' ')} {' or '.join(words(row, key))}" for key in row if key in POSSIBLE]
    return f"{', '.join(asked)}: {short_text(number(row, 'points'))}"


def _remarks(rows: tuple[Row, ...], said: Mapping[str, str | None]) -> tuple[Remark, ...]:
    """The unknown answers that can change the points."""
    out = []
    for key, value in said.items():
        if value is None and len({_outcomes(rows, {**said, key: answer}) for answer in POSSIBLE[key]}) > 1:
            out.append(Remark("open", QUESTIONS[key], f"{PLACE}.{key}"))
    return tuple(out)


def _outcomes(rows: tuple[Row, ...], said: Mapping[str, str | None]) -> frozenset[Fraction | None]:
    return frozenset(_points(rows, state) for state in _states(said))
