"""Plain-text forms of routes: the table of all parts, and one route action by action."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from fractions import Fraction

from unfasten.record.record import Record
from unfasten.routes.cost import Line, tally
from unfasten.routes.result import Action, Reach, Route


def span(low: int | Fraction, high: int | Fraction | None) -> str:
    """Write an interval: one number where it is closed, `low-high` otherwise, `low-?` where no high exists."""
    one = _text(low)
    if high is None:
        return f"{one}-?"
    two = _text(high)
    return one if one == two else f"{one}-{two}"


def table_lines(record: Record, reaches: dict[str, Reach], by: str) -> list[str]:
    """Lines of a table: part, role, steps, seconds, tools, and what is not proven or not reachable."""
    rows = [("part", "role", "steps", "time [s]", "tools", "")]
    notes = []
    for name, reach in reaches.items():
        role = record.parts[name].role or ""
        if reach.low is None:
            rows.append((name, role, "-", "-", "", "not reachable"))
        else:
            rows.append((name, role, *_figures(reach, by), ", ".join(tools_of(reach)), _remark(reach)))
        if reach.reason:
            notes.append(f"{name}: {reach.reason}")
    return [*aligned(rows), "", f"Least {by} first; low-high where covers are not known.", *notes]


def route_lines(record: Record, reach: Reach) -> list[str]:
    """Lines of one route: the high one (the low one where high does not exist), with running steps and time."""
    route = reach.high or reach.low
    if route is None:
        return [route_head(reach)]
    lines = [route_head(reach), *caution_lines(record, route.actions)]
    if stops(record):
        return lines
    rows: list[tuple[str, ...]] = [("no.", "do", "what", "way", "tools", "side", "steps", "time [s]")]
    rows += [_row(number, line) for number, line in enumerate(tally(record, route.actions), 1)]
    lines += aligned(rows)
    if reach.high is not reach.low:
        lines.append(_open_note(reach))
    return lines


def route_head(reach: Reach) -> str:
    """One line of figures: steps, pairing, time, proof; or why the part is not reachable."""
    route = reach.high or reach.low
    if reach.low is None or route is None:
        return f"{reach.target}: not reachable: {reach.reason}"
    head = f"{reach.target}: {span(reach.low.steps, None if reach.high is None else reach.high.steps)} steps"
    if reach.additions.high:
        head += f" and {reach.additions} for pairing"
    proof = "proven" if route.proven else f"not proven; no route is below {_text(route.bound)}"
    return f"{head}, {_text(route.time)} s ({proof})"


def stops(record: Record) -> bool:
    """Tell whether a swollen or damaged battery stops every procedure of the record."""
    from unfasten.service.cautions import stop_of

    return stop_of(record) is not None


def caution_lines(record: Record, actions: Sequence[Action]) -> list[str]:
    """Hazards that a procedure meets, or the notice that stops it, with the line that defers to local rules."""
    from unfasten.service.cautions import deference, product_cautions, route_cautions, stop_of

    stop = stop_of(record)
    cares = [stop] if stop else [*product_cautions(record), *route_cautions(record, actions)]
    head = "" if stop else "CAUTION  "  # the notice that stops is titled so
    texts = [f"{head}{care.title}. {care.text} ({care.source})" for care in cares] + [deference()]
    return [line for text in texts for line in textwrap.wrap(text, 100, subsequent_indent="    ")] + [""]


def tools_of(reach: Reach) -> list[str]:
    """Tools used on the high route (or the low one where high does not exist), in order of use."""
    route = reach.high or reach.low
    actions: Sequence[Action] = route.actions if route else ()
    return list(dict.fromkeys(tool for action in actions for tool in action.tools))


def _open_note(reach: Reach) -> str:
    if reach.high is None or reach.low is None:
        return f"This is the low route. {reach.reason}"
    fewer, quicker = reach.high.steps - reach.low.steps, reach.high.time - reach.low.time
    if not fewer and not quicker:
        return "This is the high route; the low route costs as much."
    low = f"{_text(reach.low.steps)} steps and {_text(reach.low.time)} s"
    return f"This is the high route; if no unknown cover is real, the low route is {low}."


def _row(number: int, line: Line) -> tuple[str, ...]:
    action = line.action
    way = "" if action.way is None else str(action.way)
    what = f"{action.what} {action.id}" if action.what else action.id
    kind = " (bundle)" if action.bundle else ""
    return (
        str(number),
        action.do,
        what + kind,
        way,
        ", ".join(action.tools),
        action.side,
        str(line.steps),
        _text(line.time),
    )


def _figures(reach: Reach, by: str) -> tuple[str, str]:
    low, high = reach.low, reach.high
    if low is None:
        return "-", "-"
    steps: list[int | None] = [reach.steps_low, reach.steps_high]
    times: list[Fraction | None] = [low.time, None if high is None else high.time]
    return _ordered(steps, by == "steps"), _ordered(times, by == "time")


def _ordered(pair: Sequence[int | Fraction | None], primary: bool) -> str:
    low, high = pair
    if low is not None and high is not None and not primary:
        low, high = min(low, high), max(low, high)
    return span(low if low is not None else 0, high)


def _remark(reach: Reach) -> str:
    routes: list[Route | None] = [reach.low, reach.high]
    if any(route is not None and not route.proven for route in routes):
        return "not proven"
    return "high not reachable" if reach.high is None else ""


def _text(value: int | Fraction) -> str:
    return str(value) if isinstance(value, int) else f"{float(value):.1f}"


def aligned(rows: Sequence[tuple[str, ...]]) -> list[str]:
    """Rows (the first is the head) as lines with aligned columns; figures to the right."""
    widths = [max(len(row[i]) for row in rows) for i in range(len(rows[0]))]
    right = {i for i, name in enumerate(rows[0]) if name in ("steps", "time [s]", "no.", "way")}
    return [
        "  ".join(c.rjust(widths[i]) if i in right else c.ljust(widths[i]) for i, c in enumerate(row)).rstrip()
        for row in rows
    ]
