"""Plain-text form of work times: predictions with their sequences, agreement with the log, and a route."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Sequence
from typing import Final

from unfasten.cli.routetable import aligned, span
from unfasten.effort.predict import NOT_CODED
from unfasten.effort.study import Agreement
from unfasten.effort.work import Prediction
from unfasten.evidence.interval import Interval
from unfasten.service.cautions import Care
from unfasten.service.effort import WayTime, WorkTimes

_WIDTH: Final = 118


def worktime_lines(answer: WorkTimes) -> list[str]:
    """Lines of an answer: conventions, ways, refusals, agreement, route."""
    study = answer.study
    lines = [] if answer.stop is None else [*_stop(answer.stop), *textwrap.wrap(answer.deference, _WIDTH), ""]
    lines += [
        f"{answer.product}: predicted work times, model {answer.model}, from: {'; '.join(answer.titles)}",
        "normal time at 100 %, tools in hand, without preparations; the record's own times stay as they are",
        f"observed times are rated at {float(study.rating):g} %; allowance {float(study.allowance):g} % of the "
        f"{study.allowance_of}{'' if study.allowance else ' (none added)'}",
        "",
    ]
    told = [way for way in answer.ways if way.prediction.span is not None]
    trust = sorted({way.prediction.confidence for way in told})
    if trust:
        lines[-1:] = [f"confidence of what is done in a sequence or row: {', '.join(trust)}", ""]
    refused = [way for way in answer.ways if way.prediction.span is None]
    lines += _ways(answer, told)
    if refused:
        lines += ["", f"not predicted: {len(refused)} ways", *_refused(refused), *(f"- {text}" for text in NOT_CODED)]
    lines += ["", *_agreements(answer.agreements, float(study.confidence), float(study.accuracy))]
    return [*lines, *_route(answer)]


def _stop(care: Care) -> list[str]:
    return textwrap.wrap(f"STOP  {care.text} ({care.source})", _WIDTH, subsequent_indent="    ")


def _ways(answer: WorkTimes, ways: Sequence[WayTime]) -> list[str]:
    standard = bool(answer.study.allowance)
    head = (
        "joint",
        "way",
        "predicted [s]",
        *(("standard [s]",) if standard else ()),
        "own [s]",
        "log [s]",
        "ratio",
        "x",
        "written out",
    )
    rows = [head]
    for way in ways:
        more = (_span(answer.standard(way.prediction.span)),) if standard else ()
        own = "-" if way.own is None else f"{float(way.own):.1f}"
        log = ", ".join(f"{float(time):g}" for time in way.observed) or "-"
        rows.append(
            (
                way.joint,
                str(way.way),
                _span(way.prediction.span),
                *more,
                own,
                log,
                _ratio(way),
                *_written(way.prediction),
            )
        )
    return aligned(rows)


def _written(prediction: Prediction) -> tuple[str, str]:
    low, high = prediction.low, prediction.high
    if low is None or high is None:
        return "", ""
    text = low.written if low.written == high.written else f"{low.written} to {_differing(low.written, high.written)}"
    return str(low.times), text


def _differing(low: str, high: str) -> str:
    """The indices of a sequence `high` that `low` has not in the same place; all of anything else."""
    if not low[0].isalpha():
        return high
    return " ".join(two for one, two in zip(low.split(), high.split(), strict=False) if one != two)


def _ratio(way: WayTime) -> str:
    bounds = way.prediction.span
    if bounds is None or way.left_out or not way.normal:
        return "-"
    mean = sum(way.normal) / len(way.normal)
    low, high = float(mean / bounds.high), float(mean / bounds.low)
    return f"{low:.2f}" if low == high else f"{low:.2f}-{high:.2f}"


def _refused(ways: Sequence[WayTime]) -> Iterator[str]:
    reasons: dict[tuple[str, str], list[str]] = {}
    for way in ways:
        key = (way.prediction.reason or "", way.prediction.look or "")
        reasons.setdefault(key, []).append(f"{way.joint} {way.way}")
    for (reason, look), names in reasons.items():
        yield from textwrap.wrap(f"- {reason}: {', '.join(names)}", _WIDTH, subsequent_indent="  ")
        if look:
            yield f"  look: {look}"


def _agreements(found: Sequence[Agreement], confidence: float, accuracy: float) -> list[str]:
    if not found:
        return ["the log holds no time that can be compared with a prediction"]
    rows = [
        (
            "observed against predicted, per cycle",
            "n",
            "mean [s]",
            "ratio",
            f"{confidence:g} % interval",
            "bias [s]",
            f"{confidence:g} % interval",
            "spread [s]",
            f"{confidence:g} % interval",
            "limits [s]",
            "needed",
        )
    ]
    for one in found:
        rows.append(
            (
                one.operation,
                str(one.count),
                f"{one.mean:.2f}",
                f"{one.ratio:.2f}",
                _pair(one.ratio_interval),
                f"{one.bias:+.2f}",
                _pair(one.bias_interval),
                "-" if one.spread is None else f"{one.spread:.2f}",
                _pair(one.spread_interval),
                _pair(one.limits),
                "-" if one.needed is None else str(one.needed),
            )
        )
    note = (
        f"needed: observations for a mean within {accuracy:g} % at {confidence:g} %, n = (t s / (k mean))^2 "
        "[time-study-deck]. Ratio and "
        "bias are those with the middle of the prediction; an observation is one entry of the log, shared over its "
        "fasteners; limits hold 95 % of differences if these are normally distributed."
    )
    return [*aligned(rows), *textwrap.wrap(note, _WIDTH)]


def _pair(pair: tuple[float, float] | None) -> str:
    return "-" if pair is None else f"{pair[0]:.2f} to {pair[1]:.2f}"


def _route(answer: WorkTimes) -> list[str]:
    route = answer.route
    if route is None:
        return []
    lines = ["", f"route to {route.target}", ""]
    for care in route.cautions:
        text = f"CAUTION  {care.title}. {care.text} ({care.source})"
        lines += textwrap.wrap(text, _WIDTH, subsequent_indent="    ")
    lines += [*textwrap.wrap(answer.deference, _WIDTH), ""]
    rows = [("do", "what", "tool changes", "turn", "predicted [s]", "own [s]")]
    for line in route.lines:
        predicted = None if line.prediction is None else line.prediction.span
        what = f"{line.action.what} {line.action.id}" if line.action.what else line.action.id
        turn = "yes" if line.turned else ""
        rows.append((line.action.do, what, str(line.changes), turn, _span(predicted), f"{float(line.own):.1f}"))
    rest = ", ".join(dict.fromkeys(route.unpredicted)) or "nothing"
    told = f"predicted, with tool changes and turns: {_span(route.predicted)} s"
    total = "unknown: a time is given by neither" if route.total is None else f"{_span(route.total)} s"
    lines += [
        *aligned(rows),
        told,
        *textwrap.wrap(f"from the record: {float(route.from_record):.1f} s for {rest}", _WIDTH),
    ]
    return [*lines, f"together {total}; by the record's own times {float(route.own_total):.1f} s"]


def _span(bounds: Interval | None) -> str:
    return "-" if bounds is None else span(bounds.low, bounds.high)
