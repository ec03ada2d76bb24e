"""What of a route counts for fasteners and tools: only what lies beyond the priority parts that came out before."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from unfasten.evidence.interval import Interval, hull, known
from unfasten.evidence.parameter import Figure, Law
from unfasten.rules.criterion import Readings
from unfasten.rules.facts import Piece, Product, Taking, Undoing, Way
from unfasten.rules.node import Node, Remark
from unfasten.rules.scoring import hull_of, lowest_of, scale
from unfasten.rules.sets.eu.repairability_2023_1669.covers import cover_remarks


@dataclass(frozen=True, slots=True)
class Counted:
    """The releases and lifts of a route that count; `before` are the priority parts taken out on it before.

    `struck` are the joints that do not count because the own route of one of those parts releases them.
    """

    undoings: tuple[Undoing, ...]
    takings: tuple[Taking, ...]
    before: tuple[str, ...] = ()
    struck: tuple[str, ...] = ()


def counted(piece: Piece, bound: str, product: Product, roles: frozenset[str], readings: Readings) -> Counted:
    """What counts on the part's route at a bound (`low` or `high`), by the reading `sequence`."""
    route = _route(piece, bound)
    if readings["sequence"] == "whole-route":
        return Counted(route.undoings, route.takings)
    lifted = route.lifted()
    before = [other for other in product.pieces if other.role in roles and other.id in lifted - {piece.id}]
    others = [getattr(other, bound) for other in before if getattr(other, bound) is not None]
    joints = {undoing.joint for other in others for undoing in other.undoings}
    keys = {taking.key for other in others for taking in other.takings}
    return Counted(
        tuple(undoing for undoing in route.undoings if undoing.joint not in joints),
        tuple(taking for taking in route.takings if taking.key not in keys),
        tuple(other.id for other in before),
        tuple(undoing.joint for undoing in route.undoings if undoing.joint in joints),
    )


def _route(piece: Piece, bound: str) -> Way:
    route: Way | None = getattr(piece, bound)
    if route is None:
        raise ValueError(f"{piece.id} has no {bound} route")
    return route


def spanned(
    name: str,
    piece: Piece,
    product: Product,
    law: Law,
    figure: Figure,
    count: Callable[[str], Counted],
    leaves: Callable[[Counted], tuple[Node, ...]],
) -> Node:
    """The part's node: its points span those on its low and on its high route."""
    ends, at = scale(law), f"parts.{piece.id}"
    if piece.low is None:
        why = piece.reason or "no route is known"
        remark = Remark("open", f"no route to {product.called('parts', piece.id)}: {why}", at)
        return Node(name, piece.id, ends, (f"no route: {why}",), uses=(figure,), remarks=(remark,))
    if not piece.low.proven or (piece.high is not None and not piece.high.proven):
        why = "the search was not finished, so another route may be the shortest"
        return Node(name, piece.id, ends, (why,), uses=(figure,), remarks=cover_remarks(piece, product))
    low = _side(name, "low", count("low"), leaves, known(ends.high), product)
    if piece.high is None:
        return _half_open(name, piece, product, low, ends, figure)
    high = _side(name, "high", count("high"), leaves, known(ends.high), product)
    if (low.interval, low.children, low.reasons) == (high.interval, high.children, high.reasons):
        return replace(low, id=name, title=piece.id, uses=(figure,))
    remarks = cover_remarks(piece, product) if low.interval != high.interval else ()
    return Node(name, piece.id, hull_of((low, high)), children=(low, high), uses=(figure,), remarks=remarks)


def _half_open(name: str, piece: Piece, product: Product, low: Node, ends: Interval, figure: Figure) -> Node:
    """No route if every unknown cover is real: from the lowest level to the points on the low route."""
    points = None if low.interval is None else hull((known(ends.low), low.interval))
    why = f"no route if every unknown cover is real, then the lowest level: {piece.reason or 'no way out'}"
    remarks = cover_remarks(piece, product) if low.interval != known(ends.low) else ()
    return Node(name, piece.id, points, (why,), (low,), uses=(figure,), remarks=remarks)


def _side(
    name: str,
    bound: str,
    count: Counted,
    leaves: Callable[[Counted], tuple[Node, ...]],
    if_none: Interval,
    product: Product,
) -> Node:
    children = leaves(count)
    title = "if no unknown cover is real" if bound == "low" else "if every unknown cover is real"
    reasons = []
    if count.before:
        reasons.append(f"starting from {product.called('parts', *count.before)}, taken out before")
    if count.struck:
        reasons.append(f"not counted, as their own routes release them: {product.called('joints', *count.struck)}")
    if not children:
        reasons.append("nothing is left that counts: the highest level")
    return Node(f"{name}.{bound}", title, lowest_of(children, if_none), tuple(reasons), children=children)
