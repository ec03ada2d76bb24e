"""S_DD, disassembly depth: points of each priority part by its steps from the assembled product."""

from __future__ import annotations

from fractions import Fraction

from unfasten.evidence.interval import Interval, short_text
from unfasten.evidence.parameter import Law
from unfasten.rules.criterion import Readings, criterion
from unfasten.rules.facts import Piece, Product, Way
from unfasten.rules.node import Fact, Node, Origin, Remark
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
    return over_roles(
        "S_DD", "disassembly depth", product, weights, law, lambda piece: _piece(piece, law, product, readings)
    )


def _piece(piece: Piece, law: Law, product: Product, readings: Readings) -> Node:
    figure, ends = law("depth.points"), scale(law)
    at, name = f"parts.{piece.id}", f"S_DD.{piece.role}.{piece.id}"
    if piece.low is None:
        why = piece.reason or "no route is known"
        remark = Remark("open", f"no route to {product.called('parts', piece.id)}: {why}", at)
        return Node(name, piece.id, ends, (f"no route: {why}",), uses=(figure,), remarks=(remark,))
    best = _points(figure.rows, piece.low.bound)
    more = piece.pairing.untested if readings["untested-pairing"] == "open" else 0
    most = None if piece.high is None else piece.high.steps + more
    worst = ends.low if most is None else _points(figure.rows, most)
    points = Interval(min(worst, best), best)
    reasons = (*_reasons(piece, piece.low, most, figure.rows), *_pairing_reasons(piece, more))
    says = f"{_steps_text(piece.low, most)} steps from the assembled product"
    remarks = () if points.is_known else _remarks(piece, product, more)
    facts = (Fact(at, says, "computed"), *_pairing_facts(piece))
    return Node(name, piece.id, points, reasons, uses=(figure,), facts=facts, remarks=remarks)


def _remarks(piece: Piece, product: Product, more: int) -> tuple[Remark, ...]:
    """What keeps the points open: covers and the search, and pairing."""
    pairing, low, high = piece.pairing, piece.low, piece.high
    is_open = low is None or high is None or low.bound - pairing.low != high.steps - pairing.high
    covers = cover_remarks(piece, product) if is_open else ()
    if pairing.is_known and not more:
        return covers
    called = product.called("parts", piece.id)
    what = f"does {called} of another unit work in full, and what does the product ask for first?"
    return (*covers, Remark("open", what, f"parts.{piece.id}.pairing"))


def _points(rows: tuple[Row, ...], steps: int) -> Fraction:
    row = band(rows, steps)
    return Fraction(0) if row is None else number(row, "points")


def _steps_text(low: Way, most: int | None) -> str:
    if most is None:
        return f"{low.bound} or more"
    return str(low.bound) if low.bound == most else f"{low.bound} to {most}"


def _reasons(piece: Piece, low: Way, most: int | None, rows: tuple[Row, ...]) -> tuple[str, ...]:
    out = [_band_reason(rows, low.bound)]
    if most is None:
        out.append(f"no route if every unknown cover is real, then the lowest level: {piece.reason or 'no way out'}")
    elif most != low.bound:
        covers = piece.high is not None and piece.high.steps - piece.pairing.high != low.bound - piece.pairing.low
        pairing = most - low.bound > (piece.high.steps - low.bound if piece.high else 0) or not piece.pairing.is_known
        worst = ["every unknown cover is real"] * covers + ["the most pairing is needed"] * pairing
        out.append(f"if {' and '.join(worst)}: {_band_reason(rows, most)}")
    if not low.proven or (piece.high and not piece.high.proven):
        out.append("the search was not finished: the least steps not excluded count as best")
    return tuple(out)


def _pairing_reasons(piece: Piece, more: int) -> tuple[str, ...]:
    """How many steps are for pairing, and by what; whether it was tested at all."""
    pairing = piece.pairing
    if pairing.high or pairing.tests:
        steps = str(pairing.low) if pairing.is_known else f"{pairing.low} to {pairing.high}"
        head = f"{steps} of the steps are for remote notification or authorisation"
        return (f"{head}: {pairing.why}" if pairing.why else head,)
    if more:
        return (f"up to {more} of the steps may be for remote notification or authorisation: none is listed or tested",)
    return ("no step is counted for pairing: none is listed, and none was tested",) if pairing.untested else ()


def _pairing_facts(piece: Piece) -> tuple[Fact, ...]:
    if not (piece.pairing.high or piece.pairing.tests):
        return ()
    origin: Origin = "seen" if piece.pairing.tests else "claimed"
    return (Fact(f"parts.{piece.id}.pairing", piece.pairing.why or "as listed", origin),)


def _band_reason(rows: tuple[Row, ...], steps: int) -> str:
    row = band(rows, steps)
    text = "no level" if row is None else f"{band_text(rows, row)} steps give {short_text(_points(rows, steps))}"
    return f"{steps} steps ({text})"
