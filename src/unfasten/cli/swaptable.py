"""The swap matrix as lines of text."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from unfasten.service.report_words import NAME, clean
from unfasten.service.swap import MATTER_RULE, Cell, Matrix, SwapFamily

#: most gaps that are printed
_NEXT: Final = 12


def swap_lines(found: SwapFamily) -> Iterator[str]:
    """A matrix for each record, and the tests to run next over all of them."""
    yield MATTER_RULE
    for matrix in found.matrices:
        yield ""
        yield from _matrix(matrix)
    yield ""
    if not found.gaps:
        yield "Every cell that matters is filled."
        return
    yield f"Tests to run next (the first {min(_NEXT, len(found.gaps))} of {len(found.gaps)}):"
    for gap in found.gaps[:_NEXT]:
        stake = "" if gap.points is None else f"; {float(gap.points):g} points of the index hang on it"
        name = found.matrices[gap.record].record.product.name
        yield "  " + clean(f"{name}: {gap.name} from {gap.column.title} ({gap.why}{stake})")


def _matrix(matrix: Matrix) -> Iterator[str]:
    filled, matter = matrix.filled
    yield f"{clean(matrix.record.product.name)}: {matrix.state}, {filled} of {matter} cells that matter are filled"
    if matrix.recorded is not None:
        yield f"  index as recorded {matrix.recorded}, as tested {matrix.tested}"
        yield f"  if parts that were not tested may be paired {matrix.opened}"
    for fact in matrix.contradictions:
        yield clean(f"  look again: {fact.part}: {fact.pairing.why}")
    rows = [["part", *(clean(column.title, NAME) for column in matrix.columns)]]
    rows += [[clean(line.name, NAME), *(_text(cell) for cell in line.cells)] for line in matrix.lines]
    widths = [max(len(row[i]) for row in rows) for i in range(len(rows[0]))]
    for row in rows:
        yield "  " + "  ".join(text.ljust(width) for text, width in zip(row, widths, strict=True)).rstrip()
    yield "  * to be tested: the cell matters.  (x) a measurement speaks against the exchange."


def _text(cell: Cell) -> str:
    if cell.is_gap and cell.state == "untested":
        return "*"
    if cell.is_gap:
        return f"{_word(cell)} *"
    if cell.state == "untested":
        return "(x)" if cell.answer == "does not fit" else "–"
    return _word(cell)


def _word(cell: Cell) -> str:
    return {"not-powered": "went in", "after-pairing": "after pairing"}.get(cell.state, cell.state.replace("-", " "))
