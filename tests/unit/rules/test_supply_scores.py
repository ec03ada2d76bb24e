"""S_SP, S_SU and S_RI where facts are missing, and the readings that bear on them."""

from __future__ import annotations

from typing import Any

import pytest

from support.hand_product import SUPPLY, answer, node, piece, product, route, span
from unfasten.rules.facts import Product

ROLES = ("battery", "display-assembly", "back-cover", "front-camera", "speaker")


def offered(spare: dict[str, Any] | None = None, category: str = "slate-tablet", **more: Any) -> Product:
    """A product with five priority parts and these offers."""
    supply: dict[str, Any] = {**more} | ({} if spare is None else {"spare_parts": spare})
    return product(*(piece(role, role, route(1)) for role in ROLES), category=category, supply=supply)


@pytest.mark.parametrize(
    ("spare", "points"),
    [
        (None, ("1.00", "5.00")),
        ({"public": "all"}, ("5.00", "5.00")),  # what all can get professionals can get
        ({"professional": "all"}, ("1.00", "5.00")),
        ({"public": ["display-assembly", "battery"]}, ("1.00", "2.00")),
        ({"public": ["battery"]}, ("1.00", "1.00")),
        ({"professional": ["battery"]}, ("1.00", "5.00")),
        ({"public": list(ROLES), "professional": []}, ("5.00", "5.00")),
    ],
)
def test_spare_parts_that_are_not_known(spare: dict[str, Any] | None, points: tuple[str, str]) -> None:
    assert span(offered(spare), "S_SP") == points


def test_lists_that_are_not_known_are_open_only_if_they_can_matter() -> None:
    def where(spare: dict[str, Any]) -> list[str]:
        return [item.where for item in answer(offered(spare)).open if item.affects == ("S_SP",)]

    assert where({}) == ["supply.spare_parts.professional", "supply.spare_parts.public"]
    assert where({"public": ["battery"]}) == []
    assert where({"public": ["display-assembly"]}) == []
    assert where({"public": ["display-assembly", "battery"]}) == ["supply.spare_parts.professional"]


def test_public_serves_professionals_unless_read_otherwise() -> None:
    made = offered({"public": "all", "professional": ["battery"]})
    assert span(made, "S_SP") == ("5.00", "5.00")
    assert span(made, "S_SP", public_serves_professionals="separate") == ("1.00", "1.00")


def test_absent_parts_are_asked_for_only_under_the_other_reading() -> None:
    made = offered(
        {"public": ["display-assembly", "battery", "back-cover", "front-camera"], "professional": ["speaker"]}
    )
    assert span(made, "S_SP") == ("4.00", "4.00")
    assert span(made, "S_SP", absent_spare_part="needed") == ("1.00", "1.00")


def test_a_hinge_is_asked_for_only_in_a_foldable_product() -> None:
    spare = {"public": list(ROLES), "professional": list(ROLES)}
    flat = product(*(piece(r, r, route(1)) for r in (*ROLES, "hinge")), supply={"spare_parts": spare})
    assert span(flat, "S_SP") == ("5.00", "5.00")
    folding = product(
        *(piece(r, r, route(1)) for r in (*ROLES, "hinge")),
        category="foldable-slate-tablet",
        supply={"spare_parts": spare},
    )
    assert span(folding, "S_SP") == ("1.00", "1.00")
    assert [item.score for item in answer(folding).off_scale] == ["S_SP"]


def test_updates_not_known_leave_the_scale_open() -> None:
    made = offered()
    assert span(made, "S_SU") == ("1.00", "5.00")
    assert "supply.updates.years" in [item.where for item in answer(made).open]


@pytest.mark.parametrize(
    ("said", "points", "open_keys"),
    [
        ({}, ("1.00", "5.00"), ["board_diagrams", "professional", "public"]),
        ({"professional": "free"}, ("3.00", "5.00"), ["board_diagrams", "public"]),
        ({"professional": "fee"}, ("1.00", "1.00"), []),
        ({"public": "fee"}, ("1.00", "3.00"), ["professional"]),
        ({"public": "free", "professional": "free"}, ("3.00", "5.00"), ["board_diagrams"]),
        ({"public": "free", "board_diagrams": "public"}, ("1.00", "5.00"), ["professional"]),
        ({"professional": "free", "board_diagrams": "none"}, ("3.00", "3.00"), []),
    ],
)
def test_repair_information_not_known(said: dict[str, str], points: tuple[str, str], open_keys: list[str]) -> None:
    made = offered(repair_information=said)
    assert span(made, "S_RI") == points
    where = [item.where.split(".")[-1] for item in answer(made).open if item.affects == ("S_RI",)]
    assert where == open_keys


def test_what_no_level_covers_is_listed() -> None:
    made = offered({"public": []}, updates={"years": 4}, repair_information={"professional": "none"})
    assert [item.score for item in answer(made).off_scale] == ["S_SP", "S_SU", "S_RI"]
    assert (span(made, "S_SP"), span(made, "S_SU"), span(made, "S_RI")) == (("1.00", "1.00"),) * 3
    assert span(made, "S_SU", off_scale="no-index") is None


def test_the_facts_of_supply_are_claims_with_their_place() -> None:
    made = product(supply=SUPPLY)
    facts = {fact.at: (fact.says, fact.origin) for name in ("S_SP", "S_SU", "S_RI") for fact in node(made, name).facts}
    assert facts == {
        "supply.spare_parts.public": ("all", "claimed"),
        "supply.spare_parts.professional": ("all", "claimed"),
        "supply.updates.years": ("7 years", "claimed"),
        "supply.repair_information.public": ("free", "claimed"),
        "supply.repair_information.professional": ("free", "claimed"),
        "supply.repair_information.board_diagrams": ("public", "claimed"),
    }
