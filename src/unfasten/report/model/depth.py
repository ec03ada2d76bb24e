"""The depth chart and the route table: how deep every part sits."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from unfasten.report.model.span import Span


@dataclass(frozen=True, slots=True)
class StepBand:
    """A band of steps that the rules score alike."""

    upto: Annotated[int, "most steps of the band"]
    points: Annotated[str, "points of the band"]


@dataclass(frozen=True, slots=True)
class RouteRow:
    """One part: how deep, how long, with what, and what to do first."""

    part: Annotated[str, "id of the part"]
    name: Annotated[str, "name of the part"]
    priority: Annotated[str, "role by which the rules name it; empty: no priority part"]
    steps: Annotated[Span, "steps to the part, pairing additions included"]
    time: Annotated[Span, "time to the part [s]"]
    tools: Annotated[str, "tools of the route, in order of use"]
    first: Annotated[str, "the first thing to do"]
    proof: Annotated[str, "`proven`, or the lower bound that is known, or why the part cannot be reached"]


@dataclass(frozen=True, slots=True)
class DepthChart:
    """Every part from the surface down."""

    rows: Annotated[tuple[RouteRow, ...], "parts, shallowest first"]
    bands: Annotated[tuple[StepBand, ...], "bands of the rules, shallowest first; empty: no rules apply"]
    beyond: Annotated[str, "points beyond the last band"]
    longest: Annotated[int, "most steps that the chart has to show"]
