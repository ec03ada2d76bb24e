"""Plain-text form of a battery's sheet: cautions first, then tables of facts, readings, rulings and changes."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Sequence
from typing import Final

from unfasten.battery.difference import Change
from unfasten.battery.fact import Fact, Ruling
from unfasten.battery.ranking import Ranked
from unfasten.cli.routetable import aligned
from unfasten.service.battery import BatteryAnswer, Caution

_WIDTH: Final = 118
_DIFFERS: Final = {True: "yes", False: "no", None: "unknown"}


def sheet_lines(answer: BatteryAnswer) -> list[str]:
    """Lines of one battery's sheet."""
    sheet = answer.sheet
    lines = [f"{answer.product}: {sheet.name} ({sheet.part}), limits of {sheet.on}", ""]
    for caution in answer.cautions:
        lines += _caution(caution)
    lines += [*_wrapped(answer.deference), "", *_facts(sheet.facts), "", *_wrapped(f"energy    {sheet.energy.says}")]
    lines += _look(sheet.energy.look)
    lines += ["", f"designation {sheet.designation or '-'}: readings, the likeliest first; none is taken for granted"]
    lines += _readings(sheet.readings) if sheet.readings else ["  none"]
    lines += ["", f"transport  {_numbers(answer)}", f"by road    {sheet.road}", ""]
    lines += _rulings([sheet.room, *sheet.transport])
    lines += [line for text in answer.not_coded for line in _wrapped(f"- {text}")]
    if answer.against is not None:
        lines += ["", f"change against {answer.against}", *_changes(answer.changes)]
    if answer.remarks:
        lines += ["", *(line for remark in answer.remarks for line in _wrapped(f"- {remark}"))]
    return lines


def _caution(caution: Caution) -> Iterator[str]:
    word = "STOP   " if caution.care.scope == "stop" else "CAUTION"
    title = "" if caution.care.scope == "stop" else f"{caution.care.title}. "
    yield from _wrapped(f"{word}  {title}{caution.care.text} ({caution.care.source})", "    ")
    for reason in caution.reasons:
        look = f"; {reason.look}" if reason.look else ""
        yield from _wrapped(f"    because {reason.because}{look}", "      ")


def _facts(facts: Sequence[Fact]) -> list[str]:
    rows = [("figure", "value", "origin", "remark")]
    rows += [(f.title, f.text, f.origin or "", f.says or (f"look: {f.look}" if f.look else "")) for f in facts]
    return _table(rows)


def _readings(readings: Sequence[Ranked]) -> list[str]:
    rows = [("", "cell", "cells", "what speaks for and against it")]
    for number, one in enumerate(readings, 1):
        cells = "-" if one.marking.cells is None else f"{one.marking.series} x {one.marking.parallel}"
        rows.append((str(number), one.marking.size_text, cells, "; ".join(one.says)))
    return _table(rows)


def _rulings(rulings: Sequence[Ruling]) -> list[str]:
    rows = [("requirement", "verdict", "why")]
    for ruling in rulings:
        rows.append((ruling.title, ruling.verdict, ruling.says))
        rows += [("", "", f"look: {what}") for what in ruling.look]
        cites = dict.fromkeys(f"[{f.cite}; since {f.since}, read as {f.confidence}]" for f in ruling.figures)
        rows += [("", "", cite) for cite in cites]
    return _table(rows)


def _changes(changes: Sequence[Change]) -> list[str]:
    rows = [("figure", "before", "after", "change", "differs", "remark")]
    rows += [(c.title, c.before.text, c.after.text, c.text, _DIFFERS[c.sure], c.says) for c in changes]
    return _table(rows)


def _table(rows: Sequence[tuple[str, ...]]) -> list[str]:
    """Aligned rows whose last column is wrapped to the width of the sheet."""
    ahead = sum(max(len(row[column]) for row in rows) + 2 for column in range(len(rows[0]) - 1))
    out: list[tuple[str, ...]] = []
    for row in rows:
        texts = textwrap.wrap(row[-1], max(30, _WIDTH - ahead)) or [""]
        out.append((*row[:-1], texts[0]))
        out += [(*[""] * (len(row) - 1), text) for text in texts[1:]]
    return aligned(out)


def _numbers(answer: BatteryAnswer) -> str:
    return ", ".join(f"{way}: {number or 'unknown'}" for way, number in answer.sheet.un_numbers.items())


def _look(look: str | None) -> list[str]:
    return [] if look is None else _wrapped(f"          look: {look}", "          ")


def _wrapped(text: str, indent: str = "  ") -> list[str]:
    return textwrap.wrap(text, _WIDTH, subsequent_indent=indent)
