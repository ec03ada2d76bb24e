"""The exact search against plain uniform-cost search on the replay's bench: cost, reachability and the route itself."""

from __future__ import annotations

import pytest

from support import brute_force
from support.random_record import random_record
from unfasten.record.fold import fold_log
from unfasten.record.record import Record
from unfasten.routes.result import Route
from unfasten.routes.solve import solve
from unfasten.routes.unknown import Unknown, unknown_covers

CHUNK = 100


def compare(record: Record, target: str, by: str, unknown: Unknown | None, route: Route | None) -> int:
    """Assert that the route is the cheapest and the first in order; 1 if the order could be checked, else 0."""
    least = brute_force._least(record, brute_force.all_macros(record), target, by, unknown)
    if least is None:
        assert route is None
        return 0
    assert route is not None
    assert route.proven
    assert brute_force.price(record, route.actions, by) == least
    assert not brute_force.removable(record, route.actions, target, unknown)
    try:
        found = brute_force.cheapest(record, target, by, unknown)
    except OverflowError:
        return 0
    assert found is not None
    assert brute_force.key(route.actions) == min(map(brute_force.key, found[1]))
    return 1


@pytest.mark.parametrize("start", range(0, 2000, CHUNK))
def test_small_random_records(start: int) -> None:
    checked = 0
    for seed in range(start, start + CHUNK):
        raw = random_record(seed, 3, 4)
        folded = fold_log(raw)
        by = "steps" if seed % 2 else "time"
        for target, reach in solve(raw, by=by).items():
            checked += compare(folded, target, by, None, reach.low)
            if reach.low is not None:
                compare(folded, target, by, unknown_covers(folded), reach.high)
    assert checked > CHUNK / 2


def test_somewhat_larger_random_records() -> None:
    checked = 0
    for seed in range(70_000, 70_030):
        raw = random_record(seed, 4, 5)
        for target, reach in solve(raw, by="steps").items():
            checked += compare(fold_log(raw), target, "steps", None, reach.low)
    assert checked > 30
