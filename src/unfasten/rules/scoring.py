"""Building blocks of scores: bands of a table, the lowest of several, weighted sums, one node per priority part."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from fractions import Fraction

from unfasten.evidence.interval import Interval, hull, known, lowest, short_text
from unfasten.evidence.parameter import Content, Figure, Law
from unfasten.rules.facts import Piece, Product
from unfasten.rules.node import Fact, Node

Row = Mapping[str, Content]


def number(row: Row, key: str) -> Fraction:
    """The number under a key of a table row; `TypeError` if it is none."""
    value = row[key]
    if isinstance(value, Fraction):
        return value
    raise TypeError(f"{key} is no number: {value!r}")


def words(row: Row, key: str) -> tuple[str, ...]:
    """The words under a key of a table row (one word counts as a list of one)."""
    value = row[key]
    items = value if isinstance(value, tuple) else (value,)
    return tuple(str(item) for item in items)


def band(rows: Sequence[Row], value: Fraction | int) -> Row | None:
    """The row with the greatest `at_least` that the value reaches; None if it reaches none."""
    reached = [row for row in rows if number(row, "at_least") <= value]
    return max(reached, key=lambda row: number(row, "at_least")) if reached else None


def band_text(rows: Sequence[Row], row: Row) -> str:
    """The band of whole numbers that a row stands for, such as `6 to 10` or `16 or more`."""
    start = number(row, "at_least")
    above = [number(other, "at_least") for other in rows if number(other, "at_least") > start]
    if not above:
        return f"{short_text(start)} or more"
    end = min(above) - 1
    return short_text(end) if end == start else f"{short_text(start)} to {short_text(end)}"


def scale(law: Law) -> Interval:
    """From the lowest to the highest level."""
    ends = law("points.scale").table
    return Interval(ends["lowest"], ends["highest"])


def lowest_of(nodes: Sequence[Node], if_none: Interval) -> Interval | None:
    """The lowest of the nodes' figures, `if_none` where there is no node, None where one is withheld."""
    found = [node.interval for node in nodes if node.interval is not None]
    if len(found) < len(nodes):
        return None
    return lowest(found) if found else if_none


def hull_of(nodes: Sequence[Node]) -> Interval | None:
    """The smallest interval around the nodes' figures; None where one is withheld."""
    found = [node.interval for node in nodes if node.interval is not None]
    return hull(found) if found and len(found) == len(nodes) else None


def weighted(nodes: Sequence[Node]) -> Interval | None:
    """The sum of the nodes' figures times their weights; None where one is withheld."""
    total = known(0)
    for node in nodes:
        if node.interval is None or node.weight is None:
            return None
        total = total + node.interval.scaled(node.weight)
    return total


def over_roles(
    score: str, title: str, product: Product, weights: Figure, law: Law, judge: Callable[[Piece], Node]
) -> Node:
    """The weighted sum over the priority parts; of several parts with one role the lowest counts."""
    roles = tuple(_role(score, role, share, product, law, judge) for role, share in weights.table.items())
    return Node(score, title, weighted(roles), children=roles, uses=(weights,))


def _role(score: str, role: str, share: Fraction, product: Product, law: Law, judge: Callable[[Piece], Node]) -> Node:
    nodes = tuple(judge(piece) for piece in product.of_role(role))
    name = f"{score}.{role}"
    if not nodes:
        highest = known(scale(law).high)
        fact = Fact("parts", f"no part has the role {role}", "seen")
        reason = "absent from the record: the highest level"
        return Node(name, role, highest, (reason,), weight=share, uses=(law("points.scale"),), facts=(fact,))
    reasons = (f"{len(nodes)} parts have this role: the lowest counts",) if len(nodes) > 1 else ()
    return Node(name, role, lowest_of(nodes, scale(law)), reasons, children=nodes, weight=share)
