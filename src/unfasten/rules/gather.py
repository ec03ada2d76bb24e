"""Gathers from a tree of scores what is open, what is off the scale, and the figures of each priority part."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from unfasten.evidence.interval import Interval, hull
from unfasten.rules.assessment import OffScale, OpenItem, RoleScore
from unfasten.rules.facts import Piece, Product
from unfasten.rules.node import Node, Remark


@dataclass(frozen=True, slots=True)
class _Found:
    """A remark with the score and the weighted figure it stands under; `share` is that figure's share in the index."""

    remark: Remark
    score: str
    figure: Node
    share: Fraction


def _find(index: Node) -> Iterator[_Found]:
    for score in index.children:
        share = score.weight or Fraction(0)
        yield from _below(score, score.id, score, share)


def _below(node: Node, score: str, figure: Node, share: Fraction) -> Iterator[_Found]:
    for remark in node.remarks:
        yield _Found(remark, score, figure, share)
    for child in node.children:
        if child.weight is None:
            yield from _below(child, score, figure, share)
        else:
            yield from _below(child, score, child, share * child.weight)


def open_items(index: Node) -> tuple[OpenItem, ...]:
    """What is not known and can change a score, widest effect on the index first, then by place."""
    groups: dict[tuple[str, str], list[_Found]] = {}
    for found in _find(index):
        points = found.figure.interval
        if found.remark.kind == "open" and points is not None and not points.is_known:
            groups.setdefault((found.remark.at, found.remark.what), []).append(found)
    items = [_item(where, what, group) for (where, what), group in groups.items()]
    return tuple(sorted(items, key=lambda item: (-item.moves, item.where, item.what)))


def _item(where: str, what: str, group: list[_Found]) -> OpenItem:
    spans = {found.figure.id: (found.figure.interval, found.share) for found in group}
    known = {name: (points, share) for name, (points, share) in spans.items() if points is not None}
    moves = sum((points.width * share for points, share in known.values()), Fraction(0))
    return OpenItem(
        what,
        where,
        affects=tuple(dict.fromkeys(found.score for found in group)),
        could_be=hull(points for points, _ in known.values()),
        points_of=tuple(known),
        moves=moves,
    )


def off_scale_items(index: Node) -> tuple[OffScale, ...]:
    """Every fact without a level in the law, once for each score."""
    found = (
        OffScale(item.remark.what, item.remark.at, item.score)
        for item in _find(index)
        if item.remark.kind == "off-scale"
    )
    return tuple(dict.fromkeys(found))


def role_scores(index: Node, product: Product) -> tuple[RoleScore, ...]:
    """The figures of each priority part, in the order of the law."""
    figures: dict[str, dict[str, Interval | None]] = {}
    first: dict[str, Node] = {}
    for score in index.children:
        for node in score.children:
            if node.weight is not None:
                figures.setdefault(node.title, {})[score.id] = node.interval
                first.setdefault(node.title, node)
    return tuple(_role_score(role, scores, first[role], product) for role, scores in figures.items())


def _role_score(role: str, scores: dict[str, Interval | None], node: Node, product: Product) -> RoleScore:
    """The part shown is the one with the fewest points in the first score; of equals the deepest, then by id."""
    points = {child.title: child.interval for child in node.children}
    pieces = product.of_role(role)
    names = tuple(piece.id for piece in pieces)
    if not pieces:
        return RoleScore(role, None, names, None, scores)
    piece = min(pieces, key=lambda p: (_ends(points.get(p.id)), [-n for n in _depth(p)], p.id))
    return RoleScore(role, piece.id, names, _steps(piece), scores)


def _ends(points: Interval | None) -> tuple[Fraction, Fraction]:
    return (points.low, points.high) if points else (Fraction(0), Fraction(0))


def _depth(piece: Piece) -> tuple[float, float]:
    high, low = (math.inf if way is None else way.steps for way in (piece.high, piece.low))
    return high, low


def _steps(piece: Piece) -> tuple[int, int | None] | None:
    if piece.low is None:
        return None
    return piece.low.steps, None if piece.high is None else piece.high.steps
