"""The exact search, CP-SAT and a greedy route on the same targets, one target at a time."""

from __future__ import annotations

import time
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from statistics import median

from greedy import greedy
from realistic import realistic_record
from support.cpsat import Answer, cheapest
from unfasten.record.fold import fold_log
from unfasten.record.record import Record
from unfasten.routes.result import By, Route
from unfasten.routes.unknown import unknown_covers
from unfasten.routes.world import World

LIMIT_S = 30.0
TARGETS = 3
ORDERS: tuple[By, By] = ("steps", "time")
#: what is counted -> (row's name, joints of the records, least and most)
BANDS = {
    "the route cannot do without": (("about 10", 60, 9, 11), ("about 20", 250, 18, 22), ("about 40", 500, 36, 44)),
    "may matter": (("about 40", 250, 36, 44),),
}


@dataclass(frozen=True)
class Bout:
    """One target: our route and its time [s], CP-SAT's answer, and the first cost of the greedy route."""

    route: Route
    ours_s: float
    theirs: Answer
    greedy: Fraction | None
    by: By

    @property
    def first(self) -> Fraction:
        """First cost of our route."""
        return Fraction(self.route.steps) if self.by == "steps" else self.route.time

    @property
    def excess(self) -> float | None:
        """By how much the greedy route costs more [%]; None where it got stuck."""
        return None if self.greedy is None else float(100 * (self.greedy / self.first - 1))


def releases(world: World, target: str, what: str) -> int:
    """Joints that the route to a target cannot do without, or that may matter to it."""
    if what == "may matter":
        return sum(kind == "release" for kind, _ in world.events_of(target))
    certain = world.table[world.problem.target[target]]
    return 0 if certain < 0 else (certain >> world.problem.moves).bit_count()


def targets(what: str, joints: int, least: int, most: int, wanted: int) -> Iterator[tuple[Record, str]]:
    """Targets in a band, one per record, from fixed seeds."""
    found = 0
    for seed in range(100, 160):
        record = fold_log(realistic_record(joints, seed))
        world = World(record, unknown_covers(record))
        names = [name for name, part in record.parts.items() if not part.stays]
        name = next((name for name in names if least <= releases(world, name, what) <= most), None)
        if name is not None:
            yield record, name
            found += 1
        if found == wanted:
            return


def bout(record: Record, target: str, by: By, limit: float) -> Bout | None:
    """Measure one target by one objective, every unknown cover real; None if it cannot be reached."""
    world = World(record, unknown_covers(record), by)
    began = time.process_time()
    route = world.route(target)
    ours = time.process_time() - began
    if route is None:
        return None
    theirs = cheapest(record, target, by, real=True, limit=limit, wall=True)
    rough = greedy(record, target, by, real=True)
    result = Bout(route, ours, theirs, rough and rough[0], by)
    if route.proven and theirs.proven and (theirs.first, theirs.second) != pair(route, by):
        raise AssertionError(f"{record.product.id} {target} by {by}: the two exact solvers differ")
    return result


def pair(route: Route, by: By) -> tuple[Fraction, Fraction]:
    """First and second cost of a route."""
    costs = (Fraction(route.steps), route.time)
    return costs if by == "steps" else (costs[1], costs[0])


def rows(limit: float = LIMIT_S, wanted: int = TARGETS) -> Iterator[str]:
    """The table, row by row."""
    yield (
        "| releases | by | targets | ours: median s, worst s | proven | CP-SAT: median s | proven | "
        "ratio: median, least | greedy excess: mean, most |"
    )
    yield "| --- | --- | ---: | ---: | ---: | ---: | ---: | ---: | ---: |"
    for what, bands in BANDS.items():
        for name, joints, least, most in bands:
            chosen = list(targets(what, joints, least, most, wanted))
            for by in ORDERS:
                bouts = [one for record, target in chosen if (one := bout(record, target, by, limit)) is not None]
                yield f"| {name} that {what} | {by} | {_row(bouts)} |"


def _row(bouts: list[Bout]) -> str:
    ours = [one.ours_s for one in bouts]
    theirs = [one.theirs.seconds for one in bouts]
    ratios = sorted(t / o for t, o in zip(theirs, ours, strict=True))
    proved = sum(one.theirs.proven for one in bouts)
    least = "" if proved == len(bouts) else "≥ "
    excess = [one.excess for one in bouts if one.excess is not None]
    stuck = len(bouts) - len(excess)
    return " | ".join(
        [
            f"{len(bouts)}",
            f"{median(ours):.4f}, {max(ours):.3f}",
            f"{sum(one.route.proven for one in bouts)}",
            f"{median(theirs):.2f}",
            f"{proved}",
            f"{least}{median(ratios):,.0f}, {ratios[0]:,.0f}",
            f"{sum(excess) / max(1, len(excess)):.1f} %, {max(excess, default=0):.0f} %"
            + f" ({stuck} stuck)" * bool(stuck),
        ]
    )
