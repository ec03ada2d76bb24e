"""When the budget ends early, the route is legal, its bound holds, and proof is claimed only for what is the best."""

from __future__ import annotations

from pathlib import Path

import pytest

from support.random_record import random_record
from unfasten.record.fold import fold_log
from unfasten.record.record import Record
from unfasten.routes.result import By
from unfasten.routes.solve import Solver

BENCHMARKS = Path(__file__).parents[2] / "benchmarks"
BUDGETS = (0.00003, 0.0003, 0.001, 0.003)


def unproven(record: Record, by: By) -> int:
    """Compare every route of each budget with the best one; how many carried no proof."""
    count = 0
    best = Solver(record, by)
    for budget in BUDGETS:
        solver = Solver(record, by, budget)
        for name in (name for name, part in record.parts.items() if not part.stays):
            whole, rough = best.reach(name), solver.reach(name)
            for exact, route in ((whole.low, rough.low), (whole.high, rough.high)):
                assert (exact is None) == (route is None)
                if exact is None or route is None:
                    continue
                assert exact.proven
                ours = (route.steps, route.time) if by == "steps" else (route.time, route.steps)
                least = (exact.steps, exact.time) if by == "steps" else (exact.time, exact.steps)
                assert route.bound <= least[0] <= ours[0]
                if route.proven:
                    assert ours == least
                count += not route.proven
    return count


@pytest.mark.parametrize("by", ["steps", "time"])
def test_random_records(by: By) -> None:
    count = sum(unproven(fold_log(random_record(seed, 6, 8)), by) for seed in range(500_000, 500_080))
    assert count > 20


@pytest.mark.parametrize("by", ["steps", "time"])
def test_realistic_records(by: By, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.syspath_prepend(str(BENCHMARKS))
    from realistic import realistic_record

    count = sum(unproven(fold_log(realistic_record(60, seed)), by) for seed in range(6))
    assert count > 20
