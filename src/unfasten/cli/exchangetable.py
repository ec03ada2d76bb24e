"""Answers on interchangeability as lines of text."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from unfasten.compare.conform import Rule
from unfasten.compare.criterion import Criterion
from unfasten.compare.interchange import Interchange
from unfasten.record.record import Record
from unfasten.service.exchange import Exchanges
from unfasten.service.report_words import clean


def exchange_lines(
    records: Sequence[Record], found: Sequence[Exchanges], rule: Rule, *, in_full: bool
) -> Iterator[str]:  # fmt: skip
    """A line for every exchange, with all criteria where asked; then the pools."""
    yield f"Decision rule: {rule}."
    for one in found:
        yield ""
        yield _name(records, one)
        for (place, donor), answer in one.found.items():
            into, out_of = clean(records[place].product.name), clean(records[donor].product.name)
            yield f"  {out_of} part in the {into}: {answer.answer}"
            yield from _why(answer, in_full)
    pools = [(one, pool) for one in found for pool in one.pools]
    yield ""
    yield (
        "Parts that can be stocked as one (every two shown to fit, in either place):"
        if pools
        else "No parts can be pooled."
    )
    for one, pool in pools:
        yield f"  {_name(records, one)}: {', '.join(clean(records[number].product.name) for number in pool)}"


def _name(records: Sequence[Record], one: Exchanges) -> str:
    names = [record.parts[part].name for record, part in zip(records, one.row.members, strict=True) if part is not None]
    return clean(" / ".join(dict.fromkeys(names)))


def _why(answer: Interchange, in_full: bool) -> Iterator[str]:
    for one in answer.criteria if in_full else ():
        yield f"      {one.name:<17} {one.verdict:<15} {_chance(one):>9}  {clean(one.says)}"
    if not in_full and answer.answer != "fits":
        yield f"      {answer.worst.name}: {clean(answer.worst.says)}"
    if answer.contradiction:
        yield f"      contradiction: {answer.contradiction}"
    if answer.next:
        yield f"      next: {answer.next}"


def _chance(one: Criterion) -> str:
    if one.probability is None:
        return "–"
    low = f"{100 * one.probability:.1f} %"
    return low if one.bound is None or one.bound == one.probability else f"≥ {low}"
