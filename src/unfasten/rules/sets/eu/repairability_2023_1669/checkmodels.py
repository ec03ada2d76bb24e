"""What the check values of this edition are computed with: the same criteria, fed by hand."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from fractions import Fraction
from typing import Any

from unfasten.evidence.checkvalue import Computed, Models
from unfasten.evidence.interval import exact, known
from unfasten.evidence.parameter import Law
from unfasten.record.product import Supply
from unfasten.rules.criterion import Readings
from unfasten.rules.engine import judge
from unfasten.rules.facts import Piece, Product, Taking, Undoing, Way
from unfasten.rules.library import Edition, edition
from unfasten.rules.node import Node
from unfasten.rules.readings import choose
from unfasten.rules.sets.eu.repairability_2023_1669.index import grade, index
from unfasten.rules.sets.eu.repairability_2023_1669.tools import BARE_HAND

MODELS = Models()


@MODELS.model("eu-2023-1669.index")
def index_of(given: Mapping[str, Any]) -> Mapping[str, Computed]:
    """Index and class of six given scores; `class_rounded_first` is the class under the other reading of rounding."""
    rules, day, readings = _frame(given)
    law = Law(rules.parameters, day)
    scores = {c.id: Node(c.id, c.title, known(exact(given[c.id]))) for c in rules.criteria}
    points = index(scores, law).interval or known(0)
    rounded = grade(points, law, {**readings, "class-rounding": "rounded-first"})
    return {"R": points.low, "class": grade(points, law, readings).low, "class_rounded_first": rounded.low}


@MODELS.model("eu-2023-1669.class")
def class_of(given: Mapping[str, Any]) -> Mapping[str, Computed]:
    """Class of a given index `R`."""
    rules, day, readings = _frame(given)
    return {"class": grade(known(exact(given["R"])), Law(rules.parameters, day), readings).low}


@MODELS.model("eu-2023-1669.product")
def product_scores(given: Mapping[str, Any]) -> Mapping[str, Computed]:
    """All scores, index and class of a product given by role: steps, what becomes of the worst fastener, worst tool.

    `parts` maps a role to one part or a list of parts: `{steps, reuse, tool}`, where steps may be a pair [low, high].
    Every figure is given as `NAME.low` and `NAME.high`, and as `NAME` where the two are equal.
    """
    rules, day, readings = _frame(given)
    verdict = judge(rules, _product(given), day, readings)
    out: dict[str, Computed] = {}
    for node in verdict.index.walk():
        if node.weight is not None or node is verdict.index:
            out |= _figures(node)
    if verdict.grade is not None:
        out |= {"class.low": verdict.grade.low, "class.high": verdict.grade.high}
        out |= {"class": verdict.grade.low} if verdict.grade.is_known else {}
    return out


def _frame(given: Mapping[str, Any]) -> tuple[Edition, date, Readings]:
    rules = edition("eu-2023-1669")
    day = date.fromisoformat(given["on"]) if "on" in given else rules.since
    return rules, day, choose(rules.readings, given.get("readings", {}))


def _figures(node: Node) -> dict[str, Fraction | str]:
    if node.interval is None:
        return {node.id: "withheld"}
    out: dict[str, Fraction | str] = {f"{node.id}.low": node.interval.low, f"{node.id}.high": node.interval.high}
    return out | {node.id: node.interval.low} if node.interval.is_known else out


def _product(given: Mapping[str, Any]) -> Product:
    pieces = []
    for role, told in given.get("parts", {}).items():
        for number, part in enumerate(told if isinstance(told, list) else [told]):
            pieces.append(_piece(role, f"{role}-{number}", part))
    classes = {"unknown": None} | {tool: tool for piece in pieces for tool in _tools(piece) if tool != "unknown"}
    return Product(given["category"], tuple(pieces), classes, Supply.model_validate(given.get("supply", {})))


def _piece(role: str, name: str, part: Mapping[str, Any]) -> Piece:
    steps = part["steps"]
    low, high = steps if isinstance(steps, list) else (steps, steps)
    tools = () if part.get("tool", BARE_HAND) == BARE_HAND else (part["tool"],)
    undoing = Undoing(f"{name}-joint", reuse=part.get("reuse"), tools=tools)
    taking = Taking("part", name, (name,))
    ways = [None if n is None else Way(n, n, (undoing,), (taking,)) for n in (low, high)]
    return Piece(name, role, ways[0], ways[1])


def _tools(piece: Piece) -> tuple[str, ...]:
    return tuple(t for way in (piece.low, piece.high) if way for u in way.undoings for t in u.tools)
