"""Facts that fit no level of the law, by the reading `off-scale`."""

from __future__ import annotations

from unfasten.evidence.interval import known
from unfasten.evidence.parameter import Law
from unfasten.rules.criterion import Readings
from unfasten.rules.node import Fact, Node, Remark
from unfasten.rules.scoring import scale


def off_scale(
    name: str, title: str, what: str, at: str, law: Law, readings: Readings, facts: tuple[Fact, ...] = ()
) -> Node:
    """A node for a fact without a level: the lowest level, or withheld; the remark says where."""
    remark = Remark("off-scale", what, at)
    if readings["off-scale"] == "no-index":
        reason = f"{what}: the law has no level for this, so no points are given"
        return Node(name, title, None, (reason,), facts=facts, remarks=(remark,))
    reason = f"{what}: the law has no level for this; the lowest counts by the reading off-scale"
    figure = law("points.scale")
    return Node(name, title, known(scale(law).low), (reason,), uses=(figure,), facts=facts, remarks=(remark,))
