"""S_DD, disassembly depth: points of each priority part by its steps from the assembled product."""

from __future__ import annotations

from fractions import Fraction

from unfasten.evidence.interval import Interval, short_text
from unfasten.evidence.parameter import Law
from unfasten.rules.criterion import Readings, criterion
from unfasten.rules.facts import Piece, Product, Way
from unfasten.rules.node import Fact, Node, Remark
from unfasten.rules.scoring import Row, band, band_text, number, over_roles, scale
from unfasten.rules.sets.eu.repairability_2023_1669.covers import cover_remarks
from unfasten.rules.sets.eu.repairability_2023_1669.weights import BOTH, depth_weights


@criterion(
    "S_DD",
    title="disassembly depth",
    clause="Annex IV, point 5",
    needs=("depth.points", "points.scale", *BOTH),
)
def disassembly_depth(product: Product, law: Law, readings: Readings) -> Node:
    """Weighted points of the priority parts by their steps; a missing bound gives the lowest level."""
    weights = depth_weights(product, law)
    return over_roles("S_DD", "disassembly depth", product, weights, law, lambda piece: _piece(piece, law, product))


def _piece(piece: Piece, law: Law, product: Product) -> Node:
    figure, ends = law("depth.points"), scale(law)
    at, name = f"parts.{piece.id}", f"S_DD.{piece.role}.{piece.id}"
    if piece.low is None:
        why = piece.reason or "no route is known"
        remark = Remark("open", f"no route to {product.called('parts', piece.id)}: {why}", at)
        return Node(name, piece.id, ends, (f"no route: {why}",), uses=(figure,), remarks=(remark,))
    best = _points(figure.rows, piece.low.bound)
    worst = ends.low if piece.high is None else _points(figure.rows, piece.high.steps)
    points = Interval(min(worst, best), best)
    reasons = _reasons(piece, piece.low, figure.rows)
    says = f"{_steps_text(piece, piece.low)} steps from the assembled product"
    remarks = () if points.is_known else cover_remarks(piece, product)
    facts = (Fact(at, says, "computed"),)
    return Node(name, piece.id, points, reasons, uses=(figure,), facts=facts, remarks=remarks)


def _points(rows: tuple[Row, ...], steps: int) -> Fraction:
    row = band(rows, steps)
    return Fraction(0) if row is None else number(row, "points")


def _steps_text(piece: Piece, low: Way) -> str:
    if piece.high is None:
        return f"{low.bound} or more"
    return str(low.bound) if low.bound == piece.high.steps else f"{low.bound} to {piece.high.steps}"


def _reasons(piece: Piece, low: Way, rows: tuple[Row, ...]) -> tuple[str, ...]:
    out = [_band_reason(rows, low.bound)]
    if piece.high is None:
        out.append(f"no route if every unknown cover is real, then the lowest level: {piece.reason or 'no way out'}")
    elif piece.high.steps != low.bound:
        out.append(f"if every unknown cover is real: {_band_reason(rows, piece.high.steps)}")
    if piece.additions:
        out.append(f"{piece.additions} of the steps are for remote notification or authorisation")
    if not low.proven or (piece.high and not piece.high.proven):
        out.append("the search was not finished: the least steps not excluded count as best")
    return tuple(out)


def _band_reason(rows: tuple[Row, ...], steps: int) -> str:
    row = band(rows, steps)
    text = "no level" if row is None else f"{band_text(rows, row)} steps give {short_text(_points(rows, steps))}"
    return f"{steps} steps ({text})"
