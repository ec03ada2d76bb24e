"""The swap matrix as a page: its context, and writing it."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from pathlib import Path

from unfasten.record.record import Record
from unfasten.record.swapfact import SwapFact
from unfasten.report.model.swaps import NextTest, SwapCell, SwapPage, SwapRow, SwapTable
from unfasten.service.assess import DEFAULT_RULES
from unfasten.service.compare_page import family_title
from unfasten.service.report_words import NAME, clean
from unfasten.service.swap import MATTER_RULE, Cell, Line, Matrix, SwapFamily, swap_family
from unfasten.service.writing import write_pages

STATES = {
    "accepted": "accepted", "after-pairing": "after pairing", "limited": "limited", "refused": "refused",
    "does-not-fit": "does not fit", "not-powered": "went in", "untested": "",
}  # fmt: skip


def swap_page(records: Sequence[Record], on: date, rules: str = DEFAULT_RULES) -> SwapPage:
    """Lay out the swap tests of a family and give the context of the page."""
    return page_of(swap_family(records, on, rules))


def write_swaps(found: SwapFamily, out: Path) -> Path:
    """Write the page as `swaps-<ids>.html` into a folder; raises `CallError` where that cannot be written to."""
    from unfasten.report.pages import render_swaps

    ids = "-".join(dict.fromkeys(matrix.record.product.id for matrix in found.matrices))
    return write_pages(out, {f"swaps-{ids}"[:120] + ".html": render_swaps(page_of(found)).encode("utf-8")})[0]


def page_of(found: SwapFamily) -> SwapPage:
    """The context of matrices already laid out."""
    records = [matrix.record for matrix in found.matrices]
    tables = tuple(_table(matrix) for matrix in found.matrices)
    return SwapPage(
        title=family_title(records, "Swap tests", found.rules, found.on),
        matters=MATTER_RULE,
        state="provisional" if found.gaps else "complete",
        tables=tables,
        next=tuple(
            NextTest(
                number,
                clean(records[gap.record].product.name, NAME),
                clean(gap.name, NAME),
                clean(gap.column.title, NAME),
                gap.why,
                "" if not gap.points else f"{float(gap.points):g}",
            )
            for number, gap in enumerate(found.gaps, 1)
        ),
    )


def _table(matrix: Matrix) -> SwapTable:
    filled, matter = matrix.filled
    index = "" if matrix.recorded is None else f"{matrix.recorded} as recorded, {matrix.tested} as tested, "
    index += f"{matrix.opened} if parts not tested may be paired" if index else ""
    return SwapTable(
        id=matrix.record.product.id,
        name=clean(matrix.record.product.name, NAME),
        state=matrix.state,
        filled=f"{filled} of {matter}",
        index=index,
        columns=tuple(clean(column.title, NAME) for column in matrix.columns),
        rows=tuple(_row(matrix, line) for line in matrix.lines),
    )


def _row(matrix: Matrix, line: Line) -> SwapRow:
    fact = matrix.facts[line.part]
    return SwapRow(
        part=line.part,
        name=clean(line.name, NAME),
        pairing=_pairing(fact),
        disagrees=fact.agrees is False or not fact.pairing.is_known,
        cells=tuple(_cell(matrix, cell) for cell in line.cells),
    )


def _pairing(fact: SwapFact) -> str:
    found, recorded = fact.pairing, ", ".join(fact.recorded) or "none listed"
    if not found.tests:
        return f"{recorded}; not tested"
    if found.is_known and found.basis == "listed":
        return f"{recorded}; tests leave it open"
    if found.is_known:
        return f"{recorded}; {'confirmed' if fact.agrees else 'tests show ' + (', '.join(found.least) or 'none')}"
    says = "tests contradict one another" if found.basis == "conflict" else "tests leave it open"
    return f"{recorded}; {says}: {', '.join(found.least) or 'none'} to {', '.join(found.most)}"


def _cell(matrix: Matrix, cell: Cell) -> SwapCell:
    last = matrix.record.swap_tests[cell.tests[-1]] if cell.tests else None
    parts: list[str] = []
    if last is not None:
        parts += [f"lost: {text}" for text in last.lost] + [f"shown: {text}" for text in last.messages]
        parts += [f"asked for {kind}" for kind in last.asked]
        parts += [f"software {last.software}"] if last.software else []
        parts += [last.on.isoformat()] if last.on else []
    return SwapCell(
        state=STATES[cell.state],
        tests=", ".join(cell.tests),
        detail=clean("; ".join(parts), 400),
        matters=cell.why,
        is_gap=cell.is_gap,
        against=cell.answer == "does not fit",
    )
