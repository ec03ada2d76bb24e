"""S_T, tools: points of each priority part by the tools that count on its route."""

from __future__ import annotations

from unfasten.evidence.interval import Interval, known
from unfasten.evidence.parameter import Law
from unfasten.rules.criterion import Readings, criterion
from unfasten.rules.facts import Piece, Product
from unfasten.rules.node import Fact, Node, Remark
from unfasten.rules.scoring import over_roles
from unfasten.rules.sets.eu.repairability_2023_1669.incremental import Counted, counted, spanned
from unfasten.rules.sets.eu.repairability_2023_1669.offscale import off_scale
from unfasten.rules.sets.eu.repairability_2023_1669.weights import BOTH, route_weights

BARE_HAND = "none"


@criterion(
    "S_T",
    title="tools",
    clause="Annex IV, point 5",
    needs=("tools.points", "points.scale", *BOTH),
)
def tools(product: Product, law: Law, readings: Readings) -> Node:
    """Weighted points of the priority parts; the worst tool that counts decides each, bare hand gives the highest."""
    weights = route_weights(product, law, readings)
    roles = frozenset(weights.table)

    def leaves(count: Counted) -> tuple[Node, ...]:
        uses = _uses(count, product)
        return tuple(_tool(tool, uses[tool], product, law, readings) for tool in sorted(uses))

    def judge(piece: Piece) -> Node:
        name = f"S_T.{piece.role}.{piece.id}"
        figure = law("tools.points")
        return spanned(name, piece, product, law, figure, lambda b: counted(piece, b, product, roles, readings), leaves)

    return over_roles("S_T", "tools", product, weights, law, judge)


def _uses(count: Counted, product: Product) -> dict[str, list[str]]:
    """Tools that count, each with what it is used for, in the order of the route."""
    out: dict[str, list[str]] = {}
    for undoing in count.undoings:
        for tool in undoing.tools:
            out.setdefault(tool, []).append(product.called("joints", undoing.joint))
        for tool in undoing.prepared_with:
            out.setdefault(tool, []).append(f"{product.called('joints', undoing.joint)} (preparation)")
    for taking in count.takings:
        for tool in taking.tools:
            what = "swing" if taking.kind == "swing" else "lift"
            out.setdefault(tool, []).append(f"{product.called(f'{taking.kind}s', taking.id)} ({what})")
    return {tool: list(dict.fromkeys(uses)) for tool, uses in out.items()}


def _tool(tool: str, uses: list[str], product: Product, law: Law, readings: Readings) -> Node:
    name, at = f"tools.{tool}", f"tools.{tool}.class"
    levels = dict(law("tools.points").table)
    tool_class, used = product.tools.get(tool), f"used for {', '.join(uses)}"
    if tool_class is None:
        del levels[BARE_HAND]
        remark = Remark("open", f"of which class is the tool {product.called('tools', tool)}?", at)
        span = Interval(min(levels.values()), max(levels.values()))
        return Node(name, tool, span, ("class not known", used), remarks=(remark,))
    fact = Fact(at, tool_class, "seen")
    if tool_class in levels:
        return Node(name, tool, known(levels[tool_class]), (tool_class, used), facts=(fact,))
    return off_scale(name, tool, f"{product.called('tools', tool)} is a proprietary tool", at, law, readings, (fact,))
