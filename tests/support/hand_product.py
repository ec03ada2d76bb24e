"""Products for the rules, made by hand: no solver, no file."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

from unfasten.record.product import Supply
from unfasten.rules.assessment import Assessment
from unfasten.rules.engine import assess, judge
from unfasten.rules.facts import Piece, Product, Taking, Undoing, Way
from unfasten.rules.library import edition
from unfasten.rules.node import Node
from unfasten.rules.readings import choose

RULES = "eu-2023-1669"
DAY = date(2026, 6, 1)
SUPPLY = {
    "spare_parts": {"public": "all", "professional": "all"},
    "updates": {"years": 7},
    "repair_information": {"public": "free", "professional": "free", "board_diagrams": "public"},
}


def undo(joint: str, reuse: str | None = "reusable", *tools: str, heat: Sequence[str] = ()) -> Undoing:
    """A release."""
    return Undoing(joint, 0, reuse, tools, tuple(heat))


def take(part: str, *tools: str) -> Taking:
    """The lift of one part."""
    return Taking("part", part, (part,), tools)


def route(steps: int, *actions: Undoing | Taking, bound: int | None = None) -> Way:
    """A route, proven unless a bound is given."""
    undoings = tuple(a for a in actions if isinstance(a, Undoing))
    return Way(steps, steps if bound is None else bound, undoings, tuple(a for a in actions if isinstance(a, Taking)))


def piece(name: str, role: str, low: Way | None, high: Way | str | None = "same", **more: Any) -> Piece:
    """A part whose high route is its low route unless said otherwise."""
    return Piece(name, role, low, low if isinstance(high, str) else high, **more)


def product(
    *pieces: Piece,
    category: str = "slate-tablet",
    tools: Mapping[str, str | None] | None = None,
    supply: Mapping[str, Any] | None = None,
) -> Product:
    """A product; each class of tool exists under its own name, and everything is supplied unless said otherwise."""
    classes = {name: name for name in ("basic", "with-part", "with-product", "commercial", "proprietary")}
    return Product(
        category,
        pieces,
        classes | {"unknown": None} | dict(tools or {}),
        Supply.model_validate(SUPPLY if supply is None else supply),
    )


def answer(of: Product, on: date = DAY, **readings: str) -> Assessment:
    """The assessment; readings with underscores for hyphens."""
    return assess(edition(RULES), of, on, {name.replace("_", "-"): option for name, option in readings.items()})


def node(of: Product, name: str, **readings: str) -> Node:
    """The node with this id in the tree."""
    rules = edition(RULES)
    chosen = choose(rules.readings, {key.replace("_", "-"): option for key, option in readings.items()})
    return next(found for found in judge(rules, of, DAY, chosen).index.walk() if found.id == name)


def span(of: Product, name: str, **readings: str) -> tuple[str, str] | None:
    """Low and high of a node, as exact decimal text; None where it is withheld."""
    interval = node(of, name, **readings).interval
    return None if interval is None else (interval.as_json()["low"], interval.as_json()["high"])
