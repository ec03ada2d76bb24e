"""Uniform-cost search straight on the replay's bench: no reductions, no bounds, nothing of the real search."""

from __future__ import annotations

import heapq
import itertools
from fractions import Fraction

from unfasten.record.fold import lift_of
from unfasten.record.record import Record
from unfasten.routes.cost import cost
from unfasten.routes.replay import Bench, IllegalRouteError, replay
from unfasten.routes.result import Action
from unfasten.routes.unknown import Unknown

Key = tuple[tuple[str, str, int], ...]


def all_macros(record: Record) -> list[tuple[Action, ...]]:
    """Every release (with its preparations), lift and swing of a folded record."""

    def secs(model: object) -> Fraction:
        time = getattr(model, "time", None)
        return Fraction(0) if time is None else Fraction(time.si)

    out: list[tuple[Action, ...]] = []
    for name, joint in record.joints.items():
        for number, way in enumerate(joint.ways):
            acts = [
                Action("prepare", joint=name, way=number, what=p.do, tools=p.tools, side=way.side, work=secs(p))
                for p in way.prepare
            ]
            times = joint.count if way.time is not None and way.time.each else 1
            acts.append(
                Action("release", joint=name, way=number, tools=way.tools, side=way.side, work=secs(way) * times)
            )
            out.append(tuple(acts))
    for name, part in record.parts.items():
        if not part.stays:
            lift = lift_of(part)
            out.append((Action("lift", part=name, tools=lift.tools, side=lift.side, work=secs(lift)),))
    for name, bundle in record.bundles.items():
        lift = bundle.lift
        out.append((Action("lift", bundle=name, tools=lift.tools, side=lift.side, work=secs(lift)),))
    for name, swing in record.swings.items():
        lift = swing.lift
        out.append((Action("swing", swing=name, tools=lift.tools, side=lift.side, work=secs(lift)),))
    return out


def price(record: Record, actions: tuple[Action, ...], by: str) -> tuple[Fraction, Fraction, int]:
    """(first cost, second cost, releases with special tools) of a whole sequence."""
    steps, time = cost(record, actions)
    special = sum(a.do == "release" and any(record.tools[t].tool_class != "basic" for t in a.tools) for a in actions)
    return (Fraction(steps), time, special) if by == "steps" else (time, Fraction(steps), special)


def key(actions: tuple[Action, ...]) -> Key:
    """What action lists are compared by."""
    return tuple((a.do, a.id, -1 if a.way is None else a.way) for a in actions)


def cheapest(
    record: Record, target: str, by: str, unknown: Unknown | None
) -> tuple[tuple[Fraction, Fraction, int], list[tuple[Action, ...]]] | None:
    """Least cost, and every sequence of that cost that has no removable action; None if the target is unreachable.

    Explores every legal order, so only for tiny records; equal states are merged for the least cost first.
    """
    macros = all_macros(record)
    least = _least(record, macros, target, by, unknown)
    if least is None:
        return None
    found: list[tuple[Action, ...]] = []
    _enumerate(record, macros, target, by, unknown, (), (), least, found, [0])
    return least, [path for path in found if not removable(record, path, target, unknown)]


def _state(bench: Bench, record: Record, path: tuple[Action, ...]) -> tuple[object, ...]:
    hand: frozenset[str] = frozenset()
    side, run = None, None
    for a in path:
        hand = frozenset(a.tools) or hand
        side = side if a.side == "any" else a.side
        if a.do == "prepare":
            run = "prepare"
        elif a.do == "release" and a.tools:
            run = tuple(sorted(a.tools))
        elif a.do in ("lift", "swing"):
            run = None
    return (frozenset(bench.released), tuple(sorted(bench.piece.items())), frozenset(bench.swung), hand, side, run)


def _bench(record: Record, unknown: Unknown | None, path: tuple[Action, ...]) -> Bench:
    bench = Bench(record, unknown)
    for a in path:
        if a.do != "prepare":
            bench.do(a)
    return bench


def _least(
    record: Record, macros: list[tuple[Action, ...]], target: str, by: str, unknown: Unknown | None
) -> tuple[Fraction, Fraction, int] | None:
    count = itertools.count()
    queue: list[tuple[tuple[Fraction, Fraction, int], int, tuple[Action, ...]]] = [
        ((Fraction(0), Fraction(0), 0), next(count), ())
    ]
    seen: set[tuple[object, ...]] = set()
    while queue:
        g, _, path = heapq.heappop(queue)
        bench = _bench(record, unknown, path)
        if bench.is_lifted(target):
            return g
        state = _state(bench, record, path)
        if state in seen:
            continue
        seen.add(state)
        for macro in macros:
            if bench.why_not(macro[-1]) is None:
                longer = path + macro
                heapq.heappush(queue, (price(record, longer, by), next(count), longer))
    return None


def _enumerate(
    record: Record,
    macros: list[tuple[Action, ...]],
    target: str,
    by: str,
    unknown: Unknown | None,
    path: tuple[Action, ...],
    _done: tuple[object, ...],
    least: tuple[Fraction, Fraction, int],
    found: list[tuple[Action, ...]],
    looked: list[int],
) -> None:
    looked[0] += 1
    if looked[0] > 3000:
        raise OverflowError("too many sequences to enumerate")
    bench = _bench(record, unknown, path)
    if bench.is_lifted(target):
        found.append(path)
        return
    for macro in macros:
        if bench.why_not(macro[-1]) is None and price(record, path + macro, by) <= least:
            _enumerate(record, macros, target, by, unknown, path + macro, (), least, found, looked)


def removable(record: Record, path: tuple[Action, ...], target: str, unknown: Unknown | None) -> bool:
    """Tell whether some action (with its preparations) can be left out."""
    ends = [i for i, a in enumerate(path) if a.do != "prepare"]
    start = 0
    for end in ends:
        shorter = path[:start] + path[end + 1 :]
        start = end + 1
        try:
            replay(record, shorter, target, unknown)
        except IllegalRouteError:
            continue
        return True
    return False
