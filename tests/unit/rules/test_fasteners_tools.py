"""S_F and S_T: what counts on a route beyond the priority parts that came out before, and what each thing scores."""

from __future__ import annotations

import pytest

from support.hand_product import answer, node, piece, product, route, span, take, undo
from unfasten.rules.facts import Product, Taking

COVER = piece("cover", "back-cover", route(2, undo("cover-glue", "removable", "commercial"), take("cover")))


def behind_cover(*, category: str = "slate-tablet", role: str = "back-cover") -> Product:
    """A battery behind a cover that is glued with what is only removable."""
    cover = piece("cover", role, COVER.low)
    low = route(
        4,
        undo("cover-glue", "removable", "commercial"),
        take("cover"),
        undo("cell-strip", "resupplied", "basic"),
        take("cell"),
    )
    return product(cover, piece("cell", "battery", low), category=category)


def test_what_the_previous_part_releases_does_not_count() -> None:
    made = behind_cover()
    assert span(made, "S_F.battery") == ("3.00", "3.00")
    assert span(made, "S_T.battery") == ("4.00", "4.00")
    assert span(made, "S_F.back-cover") == ("1.00", "1.00")
    found = node(made, "S_F.battery.cell")
    assert [child.id for child in found.children] == ["joints.cell-strip"]
    assert "starting from cover, taken out before" in found.reasons
    assert "not counted, as their own routes release them: cover-glue" in found.reasons


def test_the_other_reading_counts_from_the_assembled_product() -> None:
    assert span(behind_cover(), "S_F.battery", sequence="whole-route") == ("1.00", "1.00")
    assert span(behind_cover(), "S_T.battery", sequence="whole-route") == ("1.00", "1.00")


def test_a_part_without_priority_strikes_nothing() -> None:
    made = behind_cover(role="hinge")  # no priority part of a product that does not fold
    assert span(made, "S_F.battery") == ("1.00", "1.00")
    folding = behind_cover(role="hinge", category="foldable-slate-tablet")
    assert span(folding, "S_F.battery") == ("3.00", "3.00")


def test_another_part_of_the_same_role_strikes_too() -> None:
    first = piece("left", "speaker", route(1, undo("left-glue", "removable"), take("left")))
    second = piece(
        "right", "speaker", route(2, undo("left-glue", "removable"), take("left"), undo("screw"), take("right"))
    )
    made = product(first, second)
    assert span(made, "S_F.speaker") == ("1.00", "1.00")
    assert [child.id for child in node(made, "S_F.speaker.right").children] == ["joints.screw"]


def test_a_part_that_comes_out_in_a_bundle_strikes_what_its_own_route_releases() -> None:
    camera = piece("camera", "rear-camera", route(3, undo("brace", "removable"), undo("plug"), take("camera")))
    stack = Taking("bundle", "stack", ("camera", "flash"), ("with-product",))
    low = route(3, undo("brace", "removable"), stack, undo("cell-strip", "resupplied"), take("cell"))
    made = product(camera, piece("cell", "battery", low))
    assert [child.id for child in node(made, "S_F.battery.cell").children] == ["joints.cell-strip"]
    # the bundle itself is on no other part's own route, so its tool counts
    assert span(made, "S_T.battery") == ("2.00", "2.00")


def test_low_strikes_with_low_and_high_with_high() -> None:
    cover = piece(
        "cover",
        "back-cover",
        route(1, undo("clips"), take("cover")),
        route(2, undo("clips"), undo("screw"), take("cover")),
    )
    way = route(3, undo("clips"), undo("screw", "removable"), take("cover"), undo("strip"), take("cell"))
    made = product(cover, piece("cell", "battery", way, way))
    # low: the cover's own low route leaves the screw; high: it releases the screw
    assert span(made, "S_F.battery") == ("1.00", "5.00")


def test_a_swing_on_the_way_takes_no_part_out() -> None:
    swing = Taking("swing", "cover-open", (), ("commercial",))
    low = route(3, undo("cover-glue", "removable"), swing, undo("strip", "reusable", "basic"), take("cell"))
    made = product(COVER, piece("cell", "battery", low))
    assert span(made, "S_F.battery") == ("1.00", "1.00")
    assert span(made, "S_T.battery") == ("1.00", "1.00")


def test_nothing_left_takes_the_highest_level() -> None:
    low = route(2, undo("cover-glue", "removable", "commercial"), take("cover"), take("cell"))
    made = product(COVER, piece("cell", "battery", low))
    assert (span(made, "S_F.battery"), span(made, "S_T.battery")) == (("5.00", "5.00"), ("5.00", "5.00"))


def test_tools_of_release_preparation_and_lift_count() -> None:
    for low in (
        route(1, undo("strip", "reusable", "with-product"), take("cell")),
        route(1, undo("strip", "reusable", heat=["with-product"]), take("cell")),
        route(1, undo("strip"), take("cell", "with-product")),
    ):
        made = product(piece("cell", "battery", low))
        assert span(made, "S_T.battery") == ("2.00", "2.00")


def test_a_preparation_of_a_joint_that_is_struck_does_not_count() -> None:
    cover = piece("cover", "back-cover", route(2, undo("glue", "removable", heat=["commercial"]), take("cover")))
    low = route(3, undo("glue", "removable", heat=["commercial"]), take("cover"), undo("strip"), take("cell"))
    assert span(product(cover, piece("cell", "battery", low)), "S_T.battery") == ("5.00", "5.00")


def test_the_interval_spans_low_and_high_route() -> None:
    low = route(1, undo("clip"), take("cell"))
    high = route(3, undo("strip", "removable", "with-part"), undo("clip"), take("cell"))
    made = product(piece("cell", "battery", low, high))
    assert (span(made, "S_F.battery"), span(made, "S_T.battery")) == (("1.00", "5.00"), ("3.00", "5.00"))


def test_without_a_high_route_the_lowest_level_is_possible() -> None:
    low = route(1, undo("strip", "resupplied", "basic"), take("cell"))
    made = product(piece("cell", "battery", low, None, reason="covered for good"))
    assert (span(made, "S_F.battery"), span(made, "S_T.battery")) == (("1.00", "3.00"), ("1.00", "4.00"))


def test_no_route_or_an_unfinished_search_leaves_the_scale_open() -> None:
    low = route(2, undo("strip", "resupplied"), take("cell"), bound=1)
    for cell in (piece("cell", "battery", None), piece("cell", "battery", low)):
        made = product(cell)
        assert (span(made, "S_F.battery"), span(made, "S_T.battery")) == (("1.00", "5.00"), ("1.00", "5.00"))


@pytest.mark.parametrize(
    ("known", "points"),
    [("reusable", ("1.00", "5.00")), ("resupplied", ("1.00", "3.00")), ("removable", ("1.00",) * 2)],
)
def test_a_reuse_not_known_is_open_as_far_as_it_can_matter(known: str, points: tuple[str, str]) -> None:
    low = route(1, undo("strip", None), undo("clip", known), take("cell"))
    made = product(piece("cell", "battery", low))
    assert span(made, "S_F.battery") == points
    where = [item.where for item in answer(made).open if "S_F" in item.affects]
    assert where == ([] if points[0] == points[1] else ["joints.strip.reuse"])


def test_a_tool_class_not_known_is_open() -> None:
    made = product(piece("cell", "battery", route(1, undo("strip", "reusable", "unknown"), take("cell"))))
    assert span(made, "S_T.battery") == ("1.00", "4.00")
    (item,) = answer(made).open
    assert (item.where, item.affects, item.could_be.as_json()) == (
        "tools.unknown.class",
        ("S_T",),
        {"low": "1.00", "high": "4.00"},
    )
    # 0.15 x 0.30 x 3 points
    assert item.as_json()["index_moves"] == "0.135"


@pytest.mark.parametrize(
    ("undoing", "score", "where"),
    [
        (undo("strip", "none"), "S_F", "joints.strip.reuse"),
        (undo("strip", "reusable", "proprietary"), "S_T", "tools.proprietary.class"),
    ],
)
def test_what_has_no_level_counts_lowest_or_withholds_the_index(undoing: object, score: str, where: str) -> None:
    made = product(piece("cell", "battery", route(1, undoing, take("cell"))))  # type: ignore[arg-type]
    assert span(made, f"{score}.battery") == ("1.00", "1.00")
    found = answer(made)
    assert [(item.score, item.where) for item in found.off_scale] == [(score, where)]
    withheld = answer(made, off_scale="no-index").as_json()
    assert (withheld["index"], withheld["class"]) == (None, None)
    assert withheld["scores"][score] is None  # type: ignore[index]
    assert "withholds" in str(withheld["reason"])
