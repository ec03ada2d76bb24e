"""What differs in the routes to the priority parts of two records: depth, time and tools, each from low to high."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction

from unfasten.compare.build import difference, worse
from unfasten.compare.difference import Difference, Effect, Evidence, Side
from unfasten.compare.sides import Pair
from unfasten.compare.structure import Structure
from unfasten.record.record import Record
from unfasten.routes.result import Additions, Reach, Route
from unfasten.service.report_words import seconds

_NO_PRIORITY = (None, "other")


@dataclass(frozen=True, slots=True)
class Depth:
    """Depth and time of one part of one record; `high` None: not reachable if every unknown cover is real."""

    steps: tuple[int, int | None]
    time: tuple[Fraction, Fraction | None]
    tools: tuple[str, ...]
    proven: bool

    def steps_text(self) -> str:
        """Steps as printed: `8 to 11`; with the least that is proven where the search ran out."""
        return _span(*self.steps) + ("" if self.proven else ", not proven")

    def time_text(self) -> str:
        """Time as printed [s]."""
        low, high = (None if value is None else seconds(value) for value in self.time)
        return f"{_span(low, high)} s"


def priority_parts(record: Record) -> tuple[str, ...]:
    """Parts that the rules ask for, in the record's order."""
    return tuple(name for name, part in record.parts.items() if part.role not in _NO_PRIORITY and not part.stays)


def priority_names(pair: Pair) -> frozenset[str]:
    """Common names of parts that are priority parts in either record."""
    return frozenset(
        side.names[part] for side in (pair.before, pair.after) for part in priority_parts(side.record)
    )  # fmt: skip


def depth_of(record: Record, reach: Reach | None) -> Depth | None:
    """Depth, time and tools of a reach; None where the part cannot be reached."""
    if reach is None or reach.low is None:
        return None
    routes = [route for route in (reach.low, reach.high) if route is not None]
    times = sorted(route.time for route in routes)
    tools = {tool for route in routes for action in route.actions for tool in action.tools}
    return Depth(
        (reach.low.steps + reach.additions.low, reach.steps_high),
        (times[0], times[-1] if reach.high is not None else None),
        tuple(sorted(record.tools[tool].name for tool in tools)),
        all(route.proven for route in routes),
    )


def route_differences(
    structure: Structure, before: Mapping[str, Reach], after: Mapping[str, Reach]
) -> Iterator[Difference]:
    """Differences of the routes to every priority part that both records have; where a role passed to another part by
    a merger or split, those to the part that has the role.
    """
    pair = structure.pair
    passed = structure.role_moved
    wanted = priority_names(pair) - frozenset(passed.values())
    ids = {(pair.before.ids[common], pair.after.ids[common]): common for common in pair.shared if common in wanted}
    for (a, b), common in {**ids, **passed}.items():
        yield from _of_part(pair, common, (a, b), before.get(a), after.get(b))


def _of_part(
    pair: Pair, common: str, ids: tuple[str, str], before: Reach | None, after: Reach | None
) -> Iterator[Difference]:
    a, b = depth_of(pair.before.record, before), depth_of(pair.after.record, after)
    if a is None or b is None or before is None or after is None:
        if (a is None) != (b is None):
            texts = (a.steps_text() if a else "not reachable", b.steps_text() if b else "not reachable")
            yield difference("re-routed", "depth", ids, texts, effect="harder" if b is None else "easier",
                             owners=[common])  # fmt: skip
        return
    evidence = [*_routes("before", pair.before.record, before), *_routes("after", pair.after.record, after)]
    if a.steps != b.steps or not (a.proven and b.proven):
        effect, note = _verdict(a, b)
        if a.steps != b.steps:
            yield difference("re-routed", "depth", ids, (a.steps_text(), b.steps_text()), effect=effect,
                             owners=[common], evidence=evidence, note=note,
                             magnitude=_distance(a.steps, b.steps))  # fmt: skip
    if a.time != b.time:
        effect = _apart(a.time, b.time) if a.proven and b.proven else "open"
        yield difference("re-routed", "time", ids, (a.time_text(), b.time_text()), effect=effect, owners=[common],
                         evidence=evidence, magnitude=_distance(a.time, b.time) / 1000)  # fmt: skip
    if a.tools != b.tools:
        texts = (", ".join(a.tools) or "by hand", ", ".join(b.tools) or "by hand")
        yield difference("re-routed", "tools", ids, texts, effect=worse(len(a.tools), len(b.tools)), owners=[common],
                         evidence=evidence)  # fmt: skip


def _verdict(a: Depth, b: Depth) -> tuple[Effect, str]:
    effect = _apart(a.steps, b.steps)
    if not (a.proven and b.proven):
        return "open", "a route is not proven, so the difference is not shown"
    return effect, "the intervals overlap, so an answer may still close the gap" if effect == "open" else "shown"


def _apart(
    a: tuple[int | Fraction, int | Fraction | None], b: tuple[int | Fraction, int | Fraction | None]
) -> Effect:  # fmt: skip
    """`harder` or `easier` where the intervals do not overlap, else `open`; equal intervals make no difference."""
    if a[1] is not None and a[1] < b[0]:
        return "harder"
    if b[1] is not None and b[1] < a[0]:
        return "easier"
    return "neither" if a == b else "open"


def _distance(
    a: tuple[int | Fraction, int | Fraction | None], b: tuple[int | Fraction, int | Fraction | None]
) -> float:
    """Between the middles of two intervals."""
    one, other = (float(x[0] + (x[0] if x[1] is None else x[1])) / 2 for x in (a, b))
    return abs(one - other)


def _routes(side: Side, record: Record, reach: Reach) -> Iterator[Evidence]:
    for name, route in (("low", reach.low), ("high", reach.high)):
        if route is not None:
            yield Evidence(side, f"routes.{reach.target}.{name}", _words(record, route, reach.additions), "computed")


def _words(record: Record, route: Route, additions: Additions) -> str:
    acts = [f"{action.do} {action.id}" for action in route.actions if action.do != "prepare"]
    pairing = f" and {additions} for pairing" if additions.high else ""
    proof = "" if route.proven else f", not proven: at least {float(route.bound):g}"
    return f"{route.steps} steps{pairing}, {seconds(route.time)} s{proof}: " + ", ".join(acts)


def _span(low: object, high: object | None) -> str:
    if high is None:
        return f"{low} or not reachable"
    return str(low) if low == high else f"{low} to {high}"
