"""What an assessment gathers from its tree: open items, figures by role, JSON and plain text."""

from __future__ import annotations

from typing import Any, cast

from support.hand_product import answer, piece, product, route, take, undo
from unfasten.rules.assessment import Assessment
from unfasten.rules.explain import explain
from unfasten.rules.facts import Product, Undoing


def tablet() -> Product:
    """A tablet with an open cover, two speakers, an unknown reuse and no known supply."""
    plug = Undoing("cell-plug", 1, "reusable", ("basic",), (), ("shield", "brace"))
    low = route(5, undo("cell-strip", None, "commercial"), plug, take("cell"))
    return product(
        piece("cell", "battery", low, route(7, *low.undoings, take("shield"), take("cell"))),
        piece("left", "speaker", route(3, undo("screw"), take("left"))),
        piece("right", "speaker", route(5, undo("screw"), take("right"))),
        supply={},
    )


def tree(found: Assessment) -> dict[str, Any]:
    return cast("dict[str, Any]", found.as_json())


def test_an_unknown_cover_is_open_where_it_changes_points() -> None:
    (item,) = [item for item in tree(answer(tablet()))["open"] if item["where"] == "joints.cell-plug.ways[1]"]
    assert item == {
        "what": "does shield or brace cover cell-plug?",
        "where": "joints.cell-plug.ways[1]",
        "affects": ["S_DD"],
        "could_be": ["3.00", "4.00"],
        "points_of": ["S_DD.battery"],
        "index_moves": "0.075",
    }


def test_open_items_come_widest_first() -> None:
    moves = [item.moves for item in answer(tablet()).open]
    assert moves == sorted(moves, reverse=True)
    assert answer(tablet()).open[0].where.startswith("supply.")


def test_parts_are_keyed_by_role_with_the_deciding_part() -> None:
    parts = tree(answer(tablet()))["parts"]
    assert parts["battery"] == {
        "part": "cell",
        "parts": ["cell"],
        "steps": {"low": 5, "high": 7},
        "S_DD": {"low": "3.00", "high": "4.00"},
        "S_F": {"low": "1.00", "high": "5.00"},
        "S_T": {"low": "1.00", "high": "1.00"},
    }
    # both speakers score 4: the deeper one is shown
    assert (parts["speaker"]["part"], parts["speaker"]["steps"]) == ("right", {"low": 5, "high": 5})
    assert parts["rear-camera"]["absent"] is True
    assert parts["rear-camera"]["steps"] is None
    assert "hinge" not in parts


def test_a_missing_high_route_has_no_high_steps() -> None:
    made = product(piece("cell", "battery", route(3), None), piece("rim", "back-cover", None))
    parts = tree(answer(made))["parts"]
    assert parts["battery"]["steps"] == {"low": 3, "high": None}
    assert parts["back-cover"]["steps"] is None


def test_the_explanation_reaches_joint_tool_and_parameter() -> None:
    def nodes(node: dict[str, Any]) -> list[dict[str, Any]]:
        return [node, *(found for child in node.get("children", []) for found in nodes(child))]

    every = {node["id"]: node for node in nodes(tree(answer(tablet()))["explanation"])}
    assert every["joints.cell-plug"]["facts"] == [
        {"at": "joints.cell-plug.reuse", "says": "reusable", "origin": "seen"}
    ]
    assert every["tools.commercial"]["facts"][0]["at"] == "tools.commercial.class"
    limits = tree(answer(tablet()))["class_explanation"]["parameters"]
    assert [(figure["id"], figure["at"]) for figure in limits] == [("class.limits", "Annex II, Table 4")]
    assert every["S_DD.battery.cell"]["parameters"] == [
        {
            "id": "depth.points",
            "since": "2025-06-20",
            "doc": "eu-2023-1669",
            "at": "Annex IV, point 5, disassembly depth",
            "confidence": "L+1",
        }
    ]


def test_the_text_says_each_point_and_stays_within_the_page() -> None:
    lines = explain(answer(tablet()), "Tarn 11, Fellwright")
    text = "\n".join(lines)
    assert lines[0] == "Tarn 11, Fellwright"
    assert "S_DD  disassembly depth  4.35 to 4.65  x 0.25" in text
    assert "1.00 to 5.00 reuse not known: cell-strip" in text
    assert "4.00 basic: basic (used for cell-plug)" in text
    assert "- does shield or brace cover cell-plug?  [joints.cell-plug.ways[1]]" in text
    assert "- class-rounding=unrounded: the class follows from the exact index" in text
    assert (
        "- depth.points: eu-2023-1669, Annex IV, point 5, disassembly depth; since 2025-06-20, confidence L+1" in text
    )
    assert max(len(line) for line in lines) <= 150


def test_the_text_of_rules_that_do_not_apply_says_why() -> None:
    lines = explain(answer(product(category="other")), "Kettle, Fellwright")
    assert len(lines) >= 3
    assert lines[2].startswith("The rules do not apply: the rules cover smartphone")


def test_the_text_of_a_withheld_index_says_why() -> None:
    made = product(piece("cell", "battery", route(1, undo("weld", "none"), take("cell"))))
    lines = explain(answer(made, off_scale="no-index"), "Tarn 9, Fellwright")
    assert any(line.startswith("R  withheld:") for line in lines)
    assert "- weld cannot be undone without damage  [joints.weld.reuse], S_F" in lines
