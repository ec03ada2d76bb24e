"""Depth chart and route table of a report, from the reach of every part."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from fractions import Fraction

from unfasten.record.record import Record
from unfasten.report.model.depth import DepthChart, RouteRow, StepBand
from unfasten.routes.result import Action, Reach, Route
from unfasten.service.report_words import (
    clean,
    joint_name,
    part_name,
    seconds,
    steps_span,
    time_span,
    tool_name,
    tools_text,
    words,
)

VERBS = {"heat": "Heat", "clean": "Clean", "release": "Undo", "lift": "Lift out", "swing": "Swing aside"}


def depth_chart(
    record: Record, reaches: Mapping[str, Reach], bands: tuple[StepBand, ...], beyond: str, stopped: bool
) -> DepthChart:
    """Give the chart of all parts, shallowest first; where a stop notice stands no first operation is named."""
    order = {name: place for place, name in enumerate(record.parts)}
    rows = sorted(reaches.values(), key=lambda reach: (*_depth(reach), order[reach.target]))
    most = max((_longest(reach) for reach in rows), default=0)
    return DepthChart(tuple(_row(record, reach, stopped) for reach in rows), bands, beyond, max(most, 2))


def shown_route(reach: Reach) -> Route | None:
    """Give the route that is shown for a part: the high one, or the low one where high does not exist."""
    return reach.high or reach.low


def verb(action: Action) -> str:
    """Give what an action does, as the first word of an operation."""
    return VERBS[(action.what or "heat") if action.do == "prepare" else action.do]


def object_of(record: Record, action: Action) -> str:
    """Give the name of the joint, part, bundle or swung part that an action is about."""
    if action.joint is not None:
        return joint_name(record, action.joint)
    if action.bundle is not None:
        return clean(record.bundles[action.bundle].name, 80) or words(action.bundle)
    if action.swing is not None:
        return part_name(record, record.swings[action.swing].part)
    return part_name(record, action.part or "")


def tools_in_order(actions: Iterable[Action]) -> tuple[str, ...]:
    """Give the ids of the tools of a route in order of first use."""
    return tuple(dict.fromkeys(tool for action in actions for tool in action.tools))


def _depth(reach: Reach) -> tuple[float, float, Fraction]:
    low = reach.steps_low
    high = reach.steps_high
    time = reach.low.time if reach.low else Fraction(0)
    return (float("inf") if low is None else low, float("inf") if high is None else high, time)


def _longest(reach: Reach) -> int:
    return reach.steps_high or reach.steps_low or 0


def _row(record: Record, reach: Reach, stopped: bool) -> RouteRow:
    route = shown_route(reach)
    part = record.parts[reach.target]
    first = _first(record, route) if route and not stopped else ("stop: see the notice" if stopped else "")
    return RouteRow(
        part=reach.target,
        name=part_name(record, reach.target),
        priority=words(part.role) if part.role and part.role != "other" else "",
        steps=steps_span(reach),
        time=time_span(reach),
        tools=", ".join(tool_name(record, tool) for tool in tools_in_order(route.actions)) or "none" if route else "",
        first=first,
        proof=proof(reach),
    )


def _first(record: Record, route: Route) -> str:
    if not route.actions:
        return ""
    action = route.actions[0]
    return f"{verb(action)} {object_of(record, action)} ({tools_text(record, action.tools)})"


def proof(reach: Reach) -> str:
    """Say whether the routes of a part are proven shortest, which bound holds if not, or why it cannot be reached."""
    if reach.low is None:
        return f"not reachable: {clean(reach.reason)}"
    routes = [route for route in (reach.low, reach.high) if route]
    unproven = [route for route in routes if not route.proven]
    if unproven:
        bound = min(route.bound for route in unproven)
        return f"not proven; no route is below {seconds(bound).normalize():f}"
    if reach.high is None:
        return f"low proven; high not reachable: {clean(reach.reason)}"
    return "proven"
