"""Swap tests of a family: the matrix of part by donor, which cells matter, the next tests, what follows for pairing."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from fractions import Fraction
from typing import Final, Literal

from unfasten.compare.interchange import Answer, interchange
from unfasten.compare.match import Row, align
from unfasten.compare.place import Exchange
from unfasten.evidence.interval import Interval
from unfasten.record.fold import fold_log
from unfasten.record.paired import is_noticed, paired
from unfasten.record.record import Record
from unfasten.record.swapfact import SwapFact, swap_facts
from unfasten.record.swaptest import Source, State, SwapTest, cell_state, swaps_of
from unfasten.routes.pairing import additions, most_additions
from unfasten.routes.result import Additions, Reach
from unfasten.service.assess import DEFAULT_RULES, assess
from unfasten.service.compare_routes import priority_parts

#: which cells matter, as it is printed above the matrix
MATTER_RULE: Final = (
    "A cell matters (1) with a part of the same model, for every priority part that the device can notice and "
    "every part that lists pairing: it decides the steps that pairing adds (Regulation (EU) 2023/1669, Annex IV, "
    "point 5) and what Regulation (EU) 2023/1670, Annex II, B and D 1.1(7) asks of serialised parts; (2) with a "
    "part of a sibling, for every priority part whose exchange no measurement speaks against: it decides whether "
    "spares can be pooled; (3) with a part of another maker, for parts that the device can notice and that the "
    "maker offers to everybody (battery and display assembly where that is not known). The choice of (2) and (3) "
    "is common practice."
)
_PUBLIC: Final = ("battery", "display-assembly")
#: the reading under which parts that were not tested may need any pairing
_OPEN: Final = {"untested-pairing": "open"}


@dataclass(frozen=True)
class Column:
    """A kind of donor of one record: the same model, a sibling (by product id, None: not named), or another maker."""

    source: Source
    product: str | None
    title: str


@dataclass(frozen=True)
class Cell:
    """What is known of a part with a kind of donor. `why` says why it matters; empty: it does not.

    `answer` is what the measurements say of the exchange with a sibling, None where the donor's record is not at hand.
    """

    state: State
    tests: tuple[str, ...]
    why: str
    answer: Answer | None = None
    is_electric: bool = True
    is_open: bool = False

    @property
    def is_gap(self) -> bool:
        """Whether the cell matters and no test settles it.

        A part that the device can notice needs a test under power, and one that leaves its pairing open another.
        """
        lacks_power = self.is_electric and self.state == "not-powered"
        return bool(self.why) and (self.state == "untested" or lacks_power or self.is_open)


@dataclass(frozen=True)
class Line:
    """One part of a record with its cells by column."""

    part: str
    name: str
    role: str | None
    cells: tuple[Cell, ...]


@dataclass(frozen=True)
class Gap:
    """A test to run next; `points` is what of the index hangs on it; None: nothing."""

    record: int
    part: str
    name: str
    column: Column
    why: str
    points: Fraction | None


@dataclass(frozen=True)
class Matrix:
    """The swap tests of one record of the family.

    `recorded` is the index by the pairing that the record lists alone, `tested` the index with what tests show, as
    `unfasten index` gives it. `opened` takes parts that were not tested as open too. None where the rules do not apply.
    """

    record: Record
    columns: tuple[Column, ...]
    lines: tuple[Line, ...]
    facts: dict[str, SwapFact]
    recorded: Interval | None
    tested: Interval | None
    opened: Interval | None

    @property
    def state(self) -> Literal["provisional", "complete"]:
        """Provisional until every cell that matters is filled."""
        return "provisional" if any(cell.is_gap for line in self.lines for cell in line.cells) else "complete"

    @property
    def filled(self) -> tuple[int, int]:
        """Cells that matter and are filled, and all that matter."""
        matter = [cell for line in self.lines for cell in line.cells if cell.why]
        return sum(not cell.is_gap for cell in matter), len(matter)

    @property
    def contradictions(self) -> tuple[SwapFact, ...]:
        """Parts whose tests show another pairing than the record lists, or leave it open."""
        return tuple(fact for fact in self.facts.values() if fact.agrees is False or not fact.pairing.is_known)


@dataclass(frozen=True)
class SwapFamily:
    """The matrices of a family and the gaps over all of them, the most telling first."""

    matrices: tuple[Matrix, ...]
    gaps: tuple[Gap, ...]
    on: date
    rules: str


def swap_family(records: Sequence[Record], on: date, rules: str = DEFAULT_RULES) -> SwapFamily:
    """Lay out the swap tests of one or more records of a family."""
    rows = align(records)
    folded = [fold_log(record) for record in records]
    matrices, gaps = [], []
    for number in range(len(records)):
        matrix, lost = _matrix(folded, rows, number, on, rules)
        matrices.append(matrix)
        gaps += _gaps(matrix, number, lost)
    gaps.sort(key=lambda gap: (-(gap.points or 0), _ORDER[gap.column.source], gap.record, gap.part))
    return SwapFamily(tuple(matrices), tuple(gaps), on, rules)


_ORDER: Final = {"same-model": 0, "sibling": 1, "other-maker": 2}


def _matrix(
    records: Sequence[Record], rows: Sequence[Row], number: int, on: date, rules: str
) -> tuple[Matrix, dict[str, Fraction]]:
    record = records[number]
    columns = _columns(records, number)
    facts = swap_facts(record)
    shown = set(facts) | {row.members[number] for row in rows if row.members[number] in facts}
    lines = tuple(
        Line(name, part.name, part.role, tuple(_cell(records, rows, number, name, column) for column in columns))
        for name, part in record.parts.items()
        if name in shown
    )
    index, lost = _index(record, on, rules)
    return Matrix(record, columns, lines, facts, *index), lost


def _columns(records: Sequence[Record], number: int) -> tuple[Column, ...]:
    record = records[number]
    mine = record.product
    siblings = {
        other.product.id: other.product.name
        for index, other in enumerate(records)
        if index != number and other.product.id != mine.id and _same_family(record, other)
    }
    named = {t.donor.product for t in record.swap_tests.values() if t.donor.source == "sibling"}
    siblings |= {name: name for name in sorted(one for one in named if one is not None) if name not in siblings}
    columns = [Column("same-model", mine.id, f"{mine.name}, other unit")]
    columns += [Column("sibling", product, name) for product, name in siblings.items()]
    if not siblings or None in named:
        columns.append(Column("sibling", None, "Sibling"))
    return (*columns, Column("other-maker", None, "Other maker"))


def _same_family(one: Record, other: Record) -> bool:
    same_maker = one.product.maker == other.product.maker
    return same_maker and (one.product.family is None or one.product.family == other.product.family)


def _cell(records: Sequence[Record], rows: Sequence[Row], number: int, part: str, column: Column) -> Cell:
    record = records[number]
    tests = {n: t for n, t in swaps_of(record, part, column.source).items() if _belongs(t, column)}
    answer = _answer(records, rows, number, part, column)
    why = _why(record, part, column, answer)
    is_open = column.source == "same-model" and not paired(record, part).is_known
    return Cell(cell_state(tests.values()), tuple(tests), why, answer, _is_electric(record, part), is_open)


def _is_electric(record: Record, part: str) -> bool:
    return is_noticed(record, part)


def _belongs(test: SwapTest, column: Column) -> bool:
    return column.source != "sibling" or test.donor.product == column.product


def _answer(
    records: Sequence[Record], rows: Sequence[Row], number: int, part: str, column: Column
) -> Answer | None:  # fmt: skip
    if column.source != "sibling":
        return None
    row = next((one for one in rows if one.members[number] == part), None)
    for index, other in enumerate(records):
        donor = row.members[index] if row is not None else None
        if index != number and other.product.id == column.product and donor is not None:
            return interchange(Exchange(records[number], part, other, donor)).answer
    return None


def _why(record: Record, part: str, column: Column, answer: Answer | None) -> str:
    is_priority = part in priority_parts(record)
    electric = _is_electric(record, part)
    if column.source == "same-model":
        if is_priority and electric:
            return "a priority part: decides the steps that pairing adds"
        return "the record lists pairing" if record.parts[part].pairing else ""
    if column.source == "sibling":
        return "decides pooling of spares" if is_priority and answer not in (None, "does not fit") else ""
    public = record.supply.spare_parts.public
    offered = _PUBLIC if public is None or public == "all" else public
    wanted = electric and record.parts[part].role in offered
    return "offered to everybody, and the device can notice it" if wanted else ""


def _gaps(matrix: Matrix, number: int, lost: dict[str, Fraction]) -> list[Gap]:
    return [
        Gap(number, line.part, line.name, column, _wanted(cell), lost.get(line.part) if _decides(column) else None)
        for line in matrix.lines
        for column, cell in zip(matrix.columns, line.cells, strict=True)
        if cell.is_gap
    ]


def _wanted(cell: Cell) -> str:
    return f"{cell.why}; the tests so far leave it open" if cell.is_open else cell.why


def _decides(column: Column) -> bool:
    return column.source == "same-model"


def _index(
    record: Record, on: date, rules: str
) -> tuple[tuple[Interval | None, Interval | None, Interval | None], dict[str, Fraction]]:
    """Index as recorded, as tested, and with untested parts open; and what pairing could take from it, by part."""
    from unfasten.routes.solve import solve

    if not assess(record, {}, on, rules).applies:
        return (None, None, None), {}
    wanted = priority_parts(record)
    reaches = solve(record, wanted)
    tested = assess(record, reaches, on, rules, effects=False).points
    alone = record.model_copy(update={"swap_tests": {}})
    listed = {name: replace(reach, additions=additions(alone, (name,))) for name, reach in reaches.items()}
    recorded = assess(alone, listed, on, rules, effects=False).points
    opened = assess(record, reaches, on, rules, _OPEN, effects=False).points
    stakes = {name: _stake(record, reaches, name, on, rules) for name in reaches}
    return (recorded, tested, opened), {name: points for name, points in stakes.items() if points is not None}


def _stake(record: Record, reaches: Mapping[str, Reach], name: str, on: date, rules: str) -> Fraction | None:
    """What the index could lose by the pairing of a part that is not known or was not tested; None: nothing."""
    reach, found = reaches[name], paired(record, name)
    if (found.tests and found.is_known) or (not found.tests and not is_noticed(record, name)):
        return None
    ends = (reach.additions.low, reach.additions.high) if found.tests else (0, most_additions())
    best, least = (
        assess(record, {**reaches, name: replace(reach, additions=Additions(steps, steps))}, on, rules, effects=False)
        for steps in ends
    )
    return None if best.points is None or least.points is None else best.points.low - least.points.low


def swaps_json(found: SwapFamily) -> dict[str, object]:
    """Give the JSON form."""
    return {
        "on": found.on.isoformat(),
        "rules": found.rules,
        "matters": MATTER_RULE,
        "records": [_matrix_json(matrix) for matrix in found.matrices],
        "next": [
            {
                "record": found.matrices[gap.record].record.product.id,
                "part": gap.part,
                "donor": {"source": gap.column.source, "product": gap.column.product},
                "why": gap.why,
                "index_at_stake": None if gap.points is None else round(float(gap.points), 6),
            }
            for gap in found.gaps
        ],
    }


def _matrix_json(matrix: Matrix) -> dict[str, object]:
    filled, matter = matrix.filled
    return {
        "id": matrix.record.product.id,
        "state": matrix.state,
        "filled": filled,
        "matter": matter,
        "columns": [{"source": c.source, "product": c.product, "title": c.title} for c in matrix.columns],
        "parts": [
            {
                "part": line.part,
                "role": line.role,
                "cells": [
                    {"state": c.state, "tests": list(c.tests), "matters": c.why or None, "exchange": c.answer}
                    for c in line.cells
                ],
            }
            for line in matrix.lines
        ],
        "pairing": [
            {
                "part": fact.part,
                "recorded": list(fact.recorded),
                "shown": None if fact.shown is None else list(fact.shown),
                "agrees": fact.agrees,
                "basis": fact.pairing.basis,
                "least": list(fact.pairing.least),
                "most": list(fact.pairing.most),
                "why": fact.pairing.why,
            }
            for fact in matrix.facts.values()
        ],
        "index": {
            "recorded": matrix.recorded.as_json() if matrix.recorded else None,
            "as_tested": matrix.tested.as_json() if matrix.tested else None,
            "untested_open": matrix.opened.as_json() if matrix.opened else None,
        },
    }
