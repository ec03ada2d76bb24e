"""Verdicts and label quantities as plain text: each with its reasons, what to look at, the readings, the sources."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence

from unfasten.evidence.parameter import Figure
from unfasten.rules.decide import Decision, Found, Label
from unfasten.rules.quantity import shown
from unfasten.rules.verdict import Look, Ruling

WIDTH = 118
_COLUMN = 15


def decision_text(answer: Decision, product: str) -> list[str]:
    """Lines of text: one line for each requirement, and below it the parts that decide."""
    if not answer.applies:
        return _not_applied(answer, product)
    counted = ", ".join(f"{number} {word}" for word, number in answer.count().items() if number)
    out = [*_head(answer, product), "", counted, ""]
    for ruling in answer.rulings:
        head = f"{ruling.title}  [{ruling.id}; {(answer.clauses or {})[ruling.id]}]"
        first, *more = textwrap.wrap(head, WIDTH - _COLUMN, break_on_hyphens=False)
        out += [f"{ruling.verdict:<{_COLUMN}} {first}", *(f"{'':<{_COLUMN}} {line}" for line in more)]
        for text in _texts(ruling):
            out += _wrapped(text.lstrip(), " " * (_COLUMN + 1 + len(text) - len(text.lstrip())))
    return [*out, *_look_lines(answer), *_tail(answer, [figure for ruling in answer.rulings for figure in ruling.uses])]


def _look_lines(answer: Decision) -> list[str]:
    """Questions, those alike together."""
    groups: dict[tuple[str, tuple[str, ...]], list[Look]] = {}
    for look, ids in answer.look_at():
        groups.setdefault((look.what, ids), []).append(look)
    if not groups:
        return ["", "Nothing is left to look at."]
    out = ["", "To look at, what bears on most requirements first:"]
    for (what, ids), looks in groups.items():
        about = ", ".join(look.about for look in looks if look.about)
        place = looks[0].where if len(looks) == 1 else f"{looks[0].where} and {len(looks) - 1} like it"
        out += _wrapped(f"- {f'{about}: ' if about else ''}{what}  [{place}; settles {', '.join(ids)}]", "")
    return out


def label_text(answer: Label, product: str) -> list[str]:
    """Lines of text: one line for each quantity, and below it why and what to measure."""
    if not answer.applies:
        return _not_applied(answer, product)
    out = [*_head(answer, product), ""]
    for measure in answer.measures:
        out.append(f"{measure.title:<34} {shown(measure):<22} {measure.unit}")
        for text in [*measure.reasons, *(f"to look at: {look.what} [{look.where}]" for look in measure.look)]:
            out += _wrapped(text, "    ")
    return [*out, *_tail(answer, [figure for measure in answer.measures for figure in measure.uses])]


def _texts(ruling: Ruling) -> list[str]:
    """Reasons of a ruling, then the children that decide it; children alike stand together, deeper ones indented."""
    out = list(ruling.reasons)
    groups: dict[tuple[str, tuple[str, ...]], list[str]] = {}
    for child in ruling.children:
        if child.verdict == ruling.verdict or "met" not in (child.verdict, ruling.verdict):
            groups.setdefault((child.verdict, tuple(_texts(child))), []).append(child.title)
    for (verdict, texts), titles in groups.items():
        head = f"{', '.join(titles)}: {verdict}"
        out += [f"{head} ({texts[0]})"] if len(texts) == 1 else [head, *(f"  {text}" for text in texts)]
    return out


def _head(answer: Found, product: str) -> list[str]:
    return [product, f"{answer.title} ({answer.rules}), on {answer.on}"]


def _not_applied(answer: Found, product: str) -> list[str]:
    return [*_head(answer, product), *textwrap.wrap(f"The rules do not apply: {answer.reason}.", WIDTH)]


def _tail(answer: Found, used: Sequence[Figure]) -> list[str]:
    out = ["", "Readings taken:"] if answer.readings else []
    for taken in answer.readings:
        out += _wrapped(f"- {taken.id}={taken.chosen}: {taken.meaning}", "")
        out += [line for effect in taken.effects for line in _wrapped(effect.text, "  ")]
    if answer.not_coded:
        out += ["", "Not coded:", *(line for text in answer.not_coded for line in _wrapped(f"- {text}", ""))]
    out += ["", "Figures used:"]
    for name, figure in sorted({figure.id: figure for figure in used}.items()):
        out += _wrapped(f"- {name}: {figure.cite}; since {figure.since}, confidence {figure.confidence}", "")
    return out if answer.note is None else [*out, "", *textwrap.wrap(answer.note, WIDTH)]


def _wrapped(text: str, stem: str) -> list[str]:
    lines = textwrap.wrap(text, max(WIDTH - len(stem), 40), break_long_words=False, break_on_hyphens=False)
    return [stem + line if not number else f"{stem}  {line}" for number, line in enumerate(lines)]
