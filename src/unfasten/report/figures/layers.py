"""Rows and columns of the structure drawing: layers by the longest chain of covers, order by barycentre.

The surface is above the first row. A layer with more parts than a row holds is split into rows, parts that cover others
lowest. Everything is deterministic; ties go by the order of the record.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import ceil
from typing import Final

from unfasten.report.model.structure import CoverLine, Structure

#: parts in a row at most
COLUMNS: Final = 10
#: a part that covers at least this many others is drawn across as many columns as its row leaves free
ROOF: Final = 9
#: parts beside a roof in its row at most
BESIDE: Final = 3
ROUNDS: Final = 10
#: how much an even spread along the row counts against closeness to what a part covers and joins
EVEN: Final = 1.1


@dataclass(frozen=True, slots=True)
class Place:
    """Row (0 is nearest the surface) and column of a part, and how many columns its box spans."""

    row: int
    column: int
    span: int = 1


def reduced(covers: Sequence[CoverLine], parts: Sequence[str]) -> tuple[CoverLine, ...]:
    """Leave out covers that close a circle and covers that a chain of others already implies."""
    order = {name: number for number, name in enumerate(parts)}
    below: dict[str, list[str]] = {name: [] for name in parts}
    kept = []
    for cover in sorted(covers, key=lambda c: (c.kind != "listed", order[c.upper], order[c.lower])):
        if cover.upper not in _below(below, cover.lower):
            below[cover.upper].append(cover.lower)
            kept.append(cover)
    deep = {name: _below(below, name) for name in parts}
    return tuple(
        cover
        for cover in kept
        if not any(cover.lower in deep[other] for other in below[cover.upper] if other != cover.lower)
    )


def _below(below: Mapping[str, Sequence[str]], start: str) -> set[str]:
    seen: set[str] = set()
    stack = [start]
    while stack:
        for name in below[stack.pop()]:
            if name not in seen:
                seen.add(name)
                stack.append(name)
    return seen


def places(drawing: Structure, covers: Sequence[CoverLine]) -> dict[str, Place]:
    """Give every part its place; `covers` are those that are drawn."""
    parts = [node.part for node in drawing.nodes]
    below: dict[str, list[str]] = {name: [] for name in parts}
    above: dict[str, list[str]] = {name: [] for name in parts}
    for cover in covers:
        below[cover.upper].append(cover.lower)
        above[cover.lower].append(cover.upper)
    rows = _rows(parts, below, above)
    beside: dict[str, list[str]] = {name: [*below[name], *above[name]] for name in parts}
    for hold in drawing.holds:
        beside[hold.one].append(hold.other)
        beside[hold.other].append(hold.one)
    return _columns(rows, beside, {name for name in parts if len(below[name]) >= ROOF})


def _rows(parts: Sequence[str], below: Mapping[str, list[str]], above: Mapping[str, list[str]]) -> list[list[str]]:
    layer: dict[str, int] = {}

    def depth(name: str) -> int:
        if name not in layer:
            layer[name] = 1 + max((depth(upper) for upper in above[name]), default=-1)
        return layer[name]

    for name in parts:
        depth(name)
    rows: list[list[str]] = []
    for number in range(max(layer.values(), default=-1) + 1):
        members = [name for name in parts if layer[name] == number]
        rows += _layer_rows(members, below)
    return rows


def _layer_rows(members: list[str], below: Mapping[str, list[str]]) -> list[list[str]]:
    """Split a layer into rows: parts that cover nothing first, a roof last, with few others beside it."""
    roofs = [name for name in members if len(below[name]) >= ROOF]
    rest = sorted((name for name in members if name not in roofs), key=lambda name: len(below[name]) > 0)
    if len(roofs) == 1 and len(rest) <= BESIDE:
        return [[*roofs, *rest]]
    return [*_split(rest), *([name] for name in roofs)]


def _split(members: list[str]) -> list[list[str]]:
    if not members:
        return []
    count = ceil(len(members) / COLUMNS)
    size = ceil(len(members) / count)
    return [members[start : start + size] for start in range(0, len(members), size)]


def _columns(rows: list[list[str]], beside: Mapping[str, list[str]], roofs: set[str]) -> dict[str, Place]:
    column = {name: _spread(number, len(row)) for row in rows for number, name in enumerate(row)}
    for row in rows:
        if row[0] in roofs:
            column |= {name: COLUMNS - len(row) + number for number, name in enumerate(row)} | {row[0]: 0}
    for turn in range(ROUNDS):
        for row in rows if turn % 2 == 0 else reversed(rows):
            if row[0] in roofs:
                continue
            wanted = {name: _middle(name, beside, column, roofs) for name in row}
            row.sort(key=lambda name: wanted[name])
            spread = [(wanted[name] + EVEN * _even(number, len(row))) / (1 + EVEN) for number, name in enumerate(row)]
            column |= dict(zip(row, _assign(spread), strict=True))
    return {
        name: Place(number, column[name], COLUMNS - len(row) + 1 if name in roofs else 1)
        for number, row in enumerate(rows)
        for name in row
    }


def _spread(number: int, count: int) -> int:
    return (2 * number + 1) * COLUMNS // (2 * count)


def _even(number: int, count: int) -> float:
    return (number + 0.5) * COLUMNS / count - 0.5


def _middle(name: str, beside: Mapping[str, list[str]], column: Mapping[str, int], roofs: set[str]) -> float:
    near = [column[other] for other in beside[name] if other not in roofs]
    return (sum(near) + 0.5 * column[name]) / (len(near) + 0.5)


def _assign(wanted: Sequence[float]) -> list[int]:
    """Give rising columns with the least sum of squared distances from those wanted."""
    count = len(wanted)
    cost = [[0.0] * (COLUMNS + 1)] + [[float("inf")] * (COLUMNS + 1) for _ in range(count)]
    for number in range(1, count + 1):
        for free in range(number, COLUMNS + 1):
            here = cost[number - 1][free - 1] + (free - 1 - wanted[number - 1]) ** 2
            cost[number][free] = min(cost[number][free - 1], here)
    columns, free = [], COLUMNS
    for number in range(count, 0, -1):
        while cost[number][free - 1] == cost[number][free]:
            free -= 1
        free -= 1
        columns.append(free)
    return columns[::-1]
