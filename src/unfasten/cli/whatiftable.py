"""Plain-text forms of what-if: before and after side by side, and the best changes with their reasons."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Sequence
from fractions import Fraction

from unfasten.cli.routetable import aligned, span
from unfasten.evidence.interval import Interval, decimal_text
from unfasten.routes.result import Reach
from unfasten.service.best import Best
from unfasten.service.gauge import IndexGauge, points
from unfasten.service.ranking import Gain
from unfasten.service.whatif import State, WhatIf, reasons

_WIDTH = 118


def whatif_lines(answer: WhatIf) -> list[str]:
    """Index, class, scores and depths before and after, and why a score moved."""
    lines = [*(f"what if  {change}" for change in answer.changes), ""]
    rows = [("", "before", "after", ""), *_index_rows(answer.before, answer.after)]
    rows += [
        (f"{name} {unit}", *pair, _mark(pair))
        for name in answer.before.reaches
        for unit, pair in _depth_rows(answer.before.reaches[name], answer.after.reaches[name])
    ]
    lines += aligned(rows)
    if not answer.before.assessment.applies:
        lines += ["", f"No index: {answer.before.assessment.reason}."]
    why = [str(effect) for effect in answer.effects()]
    return [*lines, "", *_bullets(why or ["no score moves"])]


def best_lines(best: Best) -> list[str]:
    """The best changes with what they gain and why."""
    gauge = best.gauge
    if isinstance(gauge, IndexGauge):
        head = f"index {gauge.before}, class {gauge.verdict.grade}, on {gauge.on} ({gauge.edition.id})"
    else:
        reach = best.stand.reaches[gauge.part]
        head = f"{gauge.part}: {_steps(reach)} steps, {_time(reach)} s"
    lines = [head, f"the best of {best.tried} single changes:"]
    for number, gain in enumerate(best.singles, 1):
        lines += _gain_lines(best, gain, number)
    if not best.singles:
        lines.append("none of them helps")
    if best.pairs:
        lines += ["", "the best pairs:"]
    for number, gain in enumerate(best.pairs, 1):
        lines += _gain_lines(best, gain, number)
    return lines


def _gain_lines(best: Best, gain: Gain, number: int) -> Iterator[str]:
    gauge = best.gauge
    yield ""
    for change in gain.changes:
        yield f"{number if change is gain.changes[0] else '':>2}  {change.text}   ({change.says})"
    if isinstance(gauge, IndexGauge):
        verdict = gauge.verdict_of(gain.trial)
        after = points(verdict)
        low, high = (decimal_text(value) for value in (after.low - gauge.before.low, after.high - gauge.before.high))
        yield f"    index {after} ({_signed(low)} low, {_signed(high)} high), class {verdict.grade}"
    for text in reasons(best, gain):
        yield from textwrap.wrap(f"- {text}", _WIDTH, initial_indent="    ", subsequent_indent="      ")


def _index_rows(before: State, after: State) -> Iterator[tuple[str, ...]]:
    one, two = before.assessment, after.assessment
    if not (one.applies and two.applies):
        return
    for name, pair in (
        ("index", (_figure(one.points), _figure(two.points))),
        ("class", (str(one.grade), str(two.grade))),
        *((name, (_figure(s.interval), _figure(two.scores[name].interval))) for name, s in one.scores.items()),
    ):
        yield (name, *pair, _mark(pair))


def _depth_rows(one: Reach, two: Reach) -> Iterator[tuple[str, tuple[str, str]]]:
    yield "steps", (_steps(one), _steps(two))
    yield "time [s]", (_time(one), _time(two))


def _mark(pair: Sequence[str]) -> str:
    return "*" if pair[0] != pair[1] else ""


def _figure(interval: Interval | None) -> str:
    return "withheld" if interval is None else str(interval)


def _signed(text: str) -> str:
    return text if text.startswith("-") else f"+{text}"


def _steps(reach: Reach) -> str:
    return "no route" if reach.steps_low is None else span(reach.steps_low, reach.steps_high)


def _time(reach: Reach) -> str:
    if reach.low is None:
        return "no route"
    ends: list[Fraction] = [route.time for route in (reach.low, reach.high) if route is not None]
    return span(min(ends), None if reach.high is None else max(ends))


def _bullets(texts: Sequence[str]) -> list[str]:
    return [line for text in texts for line in textwrap.wrap(f"- {text}", _WIDTH, subsequent_indent="  ")]
