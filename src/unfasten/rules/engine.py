"""The engine: judges a product by an edition on a day and gathers what is open. It knows nothing of any law."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Final

from unfasten.evidence.parameter import Law, TooEarlyError
from unfasten.rules.assessment import Assessment, Effect, Taken
from unfasten.rules.criterion import Grade
from unfasten.rules.facts import Product
from unfasten.rules.gather import off_scale_items, open_items, role_scores
from unfasten.rules.library import Edition
from unfasten.rules.node import Node
from unfasten.rules.readings import choose

WITHHELD: Final = "a fact has no level in the law, and the reading off-scale withholds the index"


@dataclass(frozen=True, slots=True)
class Verdict:
    """Scores, index and class under one choice of readings."""

    scores: Mapping[str, Node]
    index: Node
    grade: Grade | None


def assess(
    edition: Edition,
    product: Product,
    on: date,
    readings: Mapping[str, str] | None = None,
    *,
    effects: bool = True,
) -> Assessment:
    """Judge the product; raises `CallError` for an unknown reading or option.

    Where the rules do not cover the category or are not in force on the day the answer says so. Without `effects` the
    other options of the readings are not tried, which takes most of the time.
    """
    chosen = choose(edition.readings, readings or {})
    reason = edition.why_not(product.category, on)
    if reason is not None:
        return Assessment(edition.id, edition.title, on, applies=False, reason=reason)
    try:
        verdict = judge(edition, product, on, chosen)
    except TooEarlyError as gap:
        return Assessment(edition.id, edition.title, on, applies=False, reason=str(gap))
    return Assessment(
        edition.id,
        edition.title,
        on,
        applies=True,
        reason=None if verdict.grade else WITHHELD,
        index=verdict.index,
        grade=verdict.grade,
        scores=verdict.scores,
        parts=role_scores(verdict.index, product),
        open=open_items(verdict.index),
        off_scale=off_scale_items(verdict.index),
        readings=tuple(_taken(edition, product, on, chosen, name, verdict, effects) for name in edition.readings),
        note=edition.note,
    )


def judge(edition: Edition, product: Product, on: date, chosen: Mapping[str, str]) -> Verdict:
    """Scores, index and class under the chosen readings; `TooEarlyError` where a figure has no value yet."""
    law = Law(edition.parameters, on)
    scores = {criterion.id: criterion(product, law, chosen) for criterion in edition.criteria}
    index = edition.index(scores, law)
    grade = edition.grade(index.interval, law, chosen) if index.interval else None
    return Verdict(scores, index, grade)


def _taken(
    edition: Edition,
    product: Product,
    on: date,
    chosen: Mapping[str, str],
    name: str,
    verdict: Verdict,
    effects: bool,
) -> Taken:
    reading, option = edition.readings[name], chosen[name]
    tried = tuple(
        _effect(name, other, verdict, judge(edition, product, on, {**chosen, name: other}))
        for other in (reading.options if effects else ())
        if other != option
    )
    return Taken(name, reading.question, reading.at, option, reading.options[option], reading.why, tried)


def _effect(name: str, option: str, taken: Verdict, other: Verdict) -> Effect:
    before = (taken.index.interval, taken.grade and taken.grade.as_json())
    after = (other.index.interval, other.grade and other.grade.as_json())
    text = f"{name}={option}: "
    if before == after:
        text += "changes nothing"
    elif other.grade is None:
        text += "no index is given"
    else:
        text += f"index {other.index.interval}, class {other.grade}"
    return Effect(option, other.index.interval, other.grade, before != after, text)
