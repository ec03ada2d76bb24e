"""S_DD: points by steps, low and high; weights by the hinge; of several parts the lowest; missing routes."""

from __future__ import annotations

import pytest

from support.hand_product import answer, node, piece, product, route, span
from unfasten.rules.facts import Pairing


def test_points_fall_with_the_steps_of_the_high_route() -> None:
    made = product(piece("cell", "battery", route(5), route(16)))
    assert span(made, "S_DD.battery") == ("1.00", "4.00")
    # 0.30 x (1 to 4) + 0.70 x 5
    assert span(made, "S_DD") == ("3.80", "4.70")


def test_steps_that_score_alike_leave_nothing_open() -> None:
    made = product(piece("cell", "battery", route(6), route(10)))
    assert span(made, "S_DD.battery") == ("3.00", "3.00")
    assert [item for item in answer(made).open if "S_DD" in item.affects] == []


def test_without_a_high_route_the_lowest_level_is_possible_and_the_reason_is_told() -> None:
    made = product(piece("cell", "battery", route(5), None, reason="shield and bracket cover each other"))
    assert span(made, "S_DD.battery") == ("1.00", "4.00")
    reasons = node(made, "S_DD.battery.cell").reasons
    assert any("shield and bracket cover each other" in reason for reason in reasons)


def test_without_any_route_the_whole_scale_is_open() -> None:
    made = product(piece("cell", "battery", None, None, reason="no way releases joint weld"))
    assert span(made, "S_DD.battery") == ("1.00", "5.00")
    assert ("no route to cell: no way releases joint weld", "parts.cell") in [
        (item.what, item.where) for item in answer(made).open
    ]


def test_an_unfinished_search_counts_the_steps_it_did_not_exclude() -> None:
    made = product(piece("cell", "battery", route(7, bound=4), route(7, bound=4)))
    assert span(made, "S_DD.battery") == ("3.00", "4.00")
    assert any("was not finished" in item.what for item in answer(made).open)


def test_an_absent_part_takes_the_highest_level_and_says_so() -> None:
    found = node(product(), "S_DD.rear-camera")
    assert found.interval is not None
    assert found.interval.as_json() == {"low": "5.00", "high": "5.00"}
    assert found.reasons == ("absent from the record: the highest level",)


def test_of_several_parts_the_lowest_counts_bound_by_bound() -> None:
    made = product(piece("left", "speaker", route(2), route(16)), piece("right", "speaker", route(6)))
    # left 1 to 5, right 3: at best 3, at worst 1
    assert span(made, "S_DD.speaker") == ("1.00", "3.00")


@pytest.mark.parametrize(
    ("category", "hinge", "depth", "fasteners"),
    [
        # battery with 1 point, all else 5: 5 - 4 x share
        ("slate-tablet", False, "3.80", "3.80"),
        ("foldable-slate-tablet", False, "4.00", "4.00"),
        ("foldable-slate-tablet", True, "4.00", "4.00"),
        # a hinge in another category: the literal text weighs the depth with hinge, the fasteners without
        ("slate-tablet", True, "4.00", "3.80"),
    ],
)
def test_the_hinge_decides_the_shares(category: str, hinge: bool, depth: str, fasteners: str) -> None:
    from support.hand_product import undo

    pieces = [piece("cell", "battery", route(16, undo("glue", "removable")))]
    if hinge:
        pieces.append(piece("pivot", "hinge", route(1)))
    made = product(*pieces, category=category)
    assert (span(made, "S_DD"), span(made, "S_F")) == ((depth, depth), (fasteners, fasteners))
    one = span(made, "S_F", foldable_weights="one-trigger")
    assert one == (depth, depth)


def test_the_pairing_additions_are_named() -> None:
    made = product(piece("cell", "battery", route(16), pairing=Pairing(10, 10)))
    assert "10 of the steps are for remote notification or authorisation" in node(made, "S_DD.battery.cell").reasons
