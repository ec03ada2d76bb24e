"""Evidence never widens an interval; the index rises with each score; the class follows the index."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from support.hand_product import DAY, RULES, take
from unfasten.evidence.interval import Interval, known
from unfasten.evidence.parameter import Law
from unfasten.record.product import Supply
from unfasten.rules.engine import Verdict, judge
from unfasten.rules.facts import Piece, Product, Undoing, Way
from unfasten.rules.library import edition
from unfasten.rules.node import Node
from unfasten.rules.readings import choose
from unfasten.rules.sets.eu.repairability_2023_1669.index import grade, index

ROLES = ["battery", "display-assembly", "back-cover", "front-camera", "speaker", "hinge"]
REUSES = ["reusable", "resupplied", "removable", "none"]
CLASSES = ["basic", "with-part", "with-product", "commercial", "proprietary"]
PRICES = ["free", "fee", "none"]
CATEGORIES = ["smartphone", "slate-tablet", "foldable-smartphone"]
JOINTS = [f"j{number}" for number in range(5)]
TOOLS = [f"t{number}" for number in range(3)]


def maybe(values: list[Any]) -> st.SearchStrategy[Any]:
    """One of the values, or not known."""
    return st.none() | st.sampled_from(values)


@st.composite
def products(draw: st.DrawFn) -> Product:
    """A product with random routes; joints have one reuse wherever they stand, or it is not known."""
    reuse = {joint: draw(maybe(REUSES)) for joint in JOINTS}
    names = [f"p{number}" for number in range(draw(st.integers(0, 4)))]

    def way(name: str, least: int) -> Way:
        undone = draw(st.lists(st.sampled_from(JOINTS), unique=True, max_size=4))
        tools = {joint: tuple(draw(st.lists(st.sampled_from(TOOLS), unique=True, max_size=2))) for joint in undone}
        lifted = draw(st.lists(st.sampled_from(names), unique=True, max_size=2))
        steps = draw(st.integers(least, 20))
        undoings = tuple(Undoing(joint, 0, reuse[joint], tools[joint]) for joint in undone)
        return Way(steps, steps, undoings, tuple(take(other) for other in [*lifted, name]))

    pieces = []
    for name in names:
        low = draw(st.none() | st.builds(way, st.just(name), st.just(1)))
        high = None if low is None else draw(st.none() | st.builds(way, st.just(name), st.just(low.steps)))
        pieces.append(Piece(name, draw(st.sampled_from(ROLES)), low, high))
    tools = {tool: draw(maybe(CLASSES)) for tool in TOOLS}
    return Product(draw(st.sampled_from(CATEGORIES)), tuple(pieces), tools, draw(supplies()))


@st.composite
def supplies(draw: st.DrawFn) -> Supply:
    """What is known of supply, each key known or not."""
    roles = st.none() | st.just("all") | st.lists(st.sampled_from(ROLES), unique=True)
    tree: dict[str, Any] = {
        "spare_parts": {"public": draw(roles), "professional": draw(roles)},
        "repair_information": {
            "public": draw(maybe(PRICES)),
            "professional": draw(maybe(PRICES)),
            "board_diagrams": draw(maybe(["public", "professional", "none"])),
        },
    }
    years = draw(st.none() | st.integers(0, 9))
    return Supply.model_validate(tree if years is None else {**tree, "updates": {"years": years}})


def judged(product: Product, **readings: str) -> Verdict:
    rules = edition(RULES)
    return judge(rules, product, DAY, choose(rules.readings, {k.replace("_", "-"): v for k, v in readings.items()}))


@st.composite
def learnt(draw: st.DrawFn, product: Product) -> Product:
    """The same product with some of what was not known now known."""
    found = {joint: draw(st.sampled_from(REUSES)) for joint in JOINTS if draw(st.booleans())}

    def way(old: Way | None) -> Way | None:
        if old is None:
            return None
        return replace(
            old,
            undoings=tuple(
                replace(u, reuse=found[u.joint]) if u.reuse is None and u.joint in found else u for u in old.undoings
            ),
        )

    pieces = tuple(replace(piece, low=way(piece.low), high=way(piece.high)) for piece in product.pieces)
    tools = {
        tool: draw(st.sampled_from(CLASSES)) if tool_class is None and draw(st.booleans()) else tool_class
        for tool, tool_class in product.tools.items()
    }
    old, new = product.supply.model_dump(), draw(supplies()).model_dump()
    for part in ("spare_parts", "repair_information"):
        old[part] = {key: new[part][key] if value is None else value for key, value in old[part].items()}
    old["updates"] = new["updates"] if old["updates"] is None else old["updates"]
    return replace(product, pieces=pieces, tools=tools, supply=Supply.model_validate(old))


@settings(max_examples=150, deadline=None)
@given(st.data(), products(), st.sampled_from(["own-route", "whole-route"]))
def test_evidence_never_widens_an_interval(data: st.DataObject, product: Product, sequence: str) -> None:
    before = judged(product, sequence=sequence)
    after = judged(data.draw(learnt(product)), sequence=sequence)
    for name, node in {**before.scores, "R": before.index}.items():
        later = after.index if name == "R" else after.scores[name]
        assert node.interval is not None
        assert later.interval is not None
        assert node.interval.holds(later.interval), name


@settings(max_examples=60, deadline=None)
@given(products())
def test_the_order_of_parts_does_not_matter(product: Product) -> None:
    turned = replace(product, pieces=product.pieces[::-1])
    assert {n: s.interval for n, s in judged(product).scores.items()} == {
        n: s.interval for n, s in judged(turned).scores.items()
    }


@settings(max_examples=60, deadline=None)
@given(products())
def test_every_figure_lies_on_the_scale_and_every_class_fits_the_index(product: Product) -> None:
    verdict = judged(product)
    for node in verdict.index.walk():
        assert node.interval is not None
        assert Interval(known(1).low, known(5).low).holds(node.interval), node.id
    assert verdict.grade is not None
    assert verdict.grade.high <= verdict.grade.low  # letters: A is before E


def scores(values: list[int]) -> dict[str, Node]:
    return {c.id: Node(c.id, c.title, known(v)) for c, v in zip(edition(RULES).criteria, values, strict=True)}


@settings(max_examples=60, deadline=None)
@given(st.lists(st.integers(1, 4), min_size=6, max_size=6), st.integers(0, 5))
def test_the_index_rises_with_each_score(values: list[int], which: int) -> None:
    rules = edition(RULES)
    law = Law(rules.parameters, DAY)
    steps = [values, [value + (number == which) for number, value in enumerate(values)]]
    points = [index(scores(step), law).interval for step in steps]
    assert all(lower is not None and upper is not None and lower.low < upper.low for lower, upper in pairwise(points))
    letters = [grade(p, law, choose(rules.readings, {})).low for p in points if p is not None]
    assert letters[1] <= letters[0]
