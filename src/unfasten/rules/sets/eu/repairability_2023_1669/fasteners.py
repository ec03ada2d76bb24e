"""S_F, fasteners: points of each priority part by what becomes of the joints that count on its route."""

from __future__ import annotations

from unfasten.evidence.interval import known
from unfasten.evidence.parameter import Law
from unfasten.rules.criterion import Readings, criterion
from unfasten.rules.facts import Piece, Product, Undoing
from unfasten.rules.node import Fact, Node, Remark
from unfasten.rules.scoring import over_roles, scale
from unfasten.rules.sets.eu.repairability_2023_1669.incremental import Counted, counted, spanned
from unfasten.rules.sets.eu.repairability_2023_1669.offscale import off_scale
from unfasten.rules.sets.eu.repairability_2023_1669.weights import BOTH, route_weights


@criterion(
    "S_F",
    title="fasteners",
    clause="Annex IV, point 5",
    needs=("fasteners.points", "points.scale", *BOTH),
)
def fasteners(product: Product, law: Law, readings: Readings) -> Node:
    """Weighted points of the priority parts; the worst fastener that counts decides each."""
    weights = route_weights(product, law, readings)
    roles = frozenset(weights.table)

    def leaves(count: Counted) -> tuple[Node, ...]:
        return tuple(_joint(undoing, product, law, readings) for undoing in count.undoings)

    def judge(piece: Piece) -> Node:
        name = f"S_F.{piece.role}.{piece.id}"
        figure = law("fasteners.points")
        return spanned(name, piece, product, law, figure, lambda b: counted(piece, b, product, roles, readings), leaves)

    return over_roles("S_F", "fasteners", product, weights, law, judge)


def _joint(undoing: Undoing, product: Product, law: Law, readings: Readings) -> Node:
    name, at = f"joints.{undoing.joint}", f"joints.{undoing.joint}.reuse"
    levels = law("fasteners.points").table
    if undoing.reuse is None:
        remark = Remark(
            "open", f"is {product.called('joints', undoing.joint)} reusable, resupplied or only removable?", at
        )
        return Node(name, undoing.joint, scale(law), ("reuse not known",), remarks=(remark,))
    fact = Fact(at, undoing.reuse, "seen")
    if undoing.reuse in levels:
        return Node(name, undoing.joint, known(levels[undoing.reuse]), (undoing.reuse,), facts=(fact,))
    what = f"{product.called('joints', undoing.joint)} cannot be undone without damage"
    return off_scale(name, undoing.joint, what, at, law, readings, (fact,))
