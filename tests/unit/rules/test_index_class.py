"""The index and its class: exact sums, the rounding question, days, categories, readings and their effects."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest

from support.hand_product import DAY, RULES, answer, piece, product, route, span, undo
from unfasten.evidence.errors import CallError
from unfasten.evidence.interval import Interval, exact, known
from unfasten.evidence.parameter import Law
from unfasten.rules.library import edition
from unfasten.rules.readings import choose
from unfasten.rules.sets.eu.repairability_2023_1669.index import grade


def letters(low: str, high: str, **readings: str) -> tuple[str, str]:
    """Classes of an interval of the index."""
    rules = edition(RULES)
    chosen = choose(rules.readings, {name.replace("_", "-"): option for name, option in readings.items()})
    found = grade(Interval(exact(low), exact(high)), Law(rules.parameters, DAY), chosen)
    return found.low, found.high


def test_the_class_follows_the_ends_of_the_index() -> None:
    assert letters("2.5499", "4.00") == ("D", "A")
    assert letters("3.3475", "3.3475") == ("C", "C")
    assert letters("3.3475", "3.3475", class_rounding="rounded-first") == ("B", "B")


def test_a_half_is_rounded_up() -> None:
    assert letters("3.3449", "3.345", class_rounding="rounded-first") == ("C", "B")


def test_binary_floats_would_miss_the_limit() -> None:
    assert 0.25 * 1 + 0.15 * 1 + 0.15 * 1 + 0.15 * 4 + 0.15 * 1 + 0.15 * 3 < 1.75
    # the same product, exact
    roles = list(edition(RULES).parameters["parts.weights"].on(DAY).table)
    pieces = [piece(role, role, route(16, undo(f"{role}-glue", "removable", "commercial"))) for role in roles]
    supply: dict[str, Any] = {
        "spare_parts": {
            "public": ["display-assembly", "battery", "back-cover", "front-camera", "rear-camera"],
            "professional": "all",
        },
        "updates": {"years": 5},
        "repair_information": {"public": "none", "professional": "free", "board_diagrams": "none"},
    }
    found = answer(product(*pieces, supply=supply))
    assert found.points == known(exact("1.75"))
    assert str(found.grade) == "D"


def test_everything_at_its_best_is_five() -> None:
    assert span(product(), "R") == ("5.00", "5.00")


def test_before_the_rules_apply_the_answer_says_since_when() -> None:
    found = answer(product(), date(2025, 6, 19)).as_json()
    assert found == {
        "rules": RULES,
        "title": edition(RULES).title,
        "on": "2025-06-19",
        "applies": False,
        "reason": "not yet in force on 2025-06-19; the rules apply from 2025-06-20",
    }
    assert answer(product(), date(2025, 6, 20)).applies


def test_another_category_is_not_covered() -> None:
    found = answer(product(category="other"))
    assert not found.applies
    assert found.reason is not None
    assert "category is other" in found.reason


def test_an_unknown_reading_or_option_is_a_wrong_call_with_the_nearest_name() -> None:
    with pytest.raises(CallError, match='did you mean "class-rounding"') as caught:
        answer(product(), class_rouding="unrounded")
    assert caught.value.code == "rules.unknown-reading"
    with pytest.raises(CallError, match='did you mean "rounded-first"') as caught:
        answer(product(), class_rounding="rounded-frist")
    assert (caught.value.code, caught.value.exit_code) == ("rules.unknown-option", 2)


def test_every_reading_tells_what_each_alternative_would_change() -> None:
    glued = piece("cover", "back-cover", route(2, undo("glue", "none")))
    found = {taken.id: taken for taken in answer(product(glued)).readings}
    assert list(found) == list(edition(RULES).readings)
    assert found["off-scale"].effects[0].text == "off-scale=no-index: no index is given"
    assert found["off-scale"].effects[0].changes
    assert found["class-rounding"].as_json()["effect"] == "class-rounding=rounded-first: changes nothing"
    assert found["display-symbol"].as_json()["alternatives"] == []


def test_the_index_keeps_every_decimal() -> None:
    # S_DD: battery and back cover have 1 of 5 points: 5 - 4 x 0.4 = 3.40; 0.25 x 3.40 = 0.85
    battery = piece("cell", "battery", route(16, undo("a", "removable", "commercial")))
    cover = piece("cover", "back-cover", route(16, undo("b", "resupplied", "basic")))
    supply: dict[str, Any] = {
        "spare_parts": {"public": [], "professional": []},
        "updates": {"years": 7},
        "repair_information": {"public": "fee", "professional": "free"},
    }
    found = answer(product(battery, cover, supply=supply))
    # S_F 5 - 1.2 - 0.2 = 3.6, S_T 5 - 1.2 - 0.1 = 3.7: 0.85 + 0.15 x (3.6 + 3.7 + 1 + 5 + 3) = 3.295
    assert found.points == known(exact("3.295"))
    (effect,) = next(taken.effects for taken in found.readings if taken.id == "class-rounding")
    assert (str(found.grade), str(effect.grade), effect.changes) == ("C", "C", False)
    assert found.as_json()["index"] == {"low": "3.295", "high": "3.295"}


def test_the_index_of_the_tree_is_the_sum_of_its_weighted_scores() -> None:
    found = answer(product(piece("cell", "battery", route(4, undo("a", None)), route(7)), supply={}))
    assert found.index is not None
    low = sum(c.weight * c.interval.low for c in found.index.children if c.weight and c.interval)
    high = sum(c.weight * c.interval.high for c in found.index.children if c.weight and c.interval)
    assert found.points == Interval(exact(low), exact(high))
