"""The rest by one cost alone is exact: over all plans it is the least cost that the search for both costs proves."""

from __future__ import annotations

import pytest

from support.random_record import random_record
from unfasten.record.fold import fold_log
from unfasten.routes.allowance import Allowance
from unfasten.routes.price import START
from unfasten.routes.result import By
from unfasten.routes.schedule import Schedule
from unfasten.routes.world import World

PLENTY = 1 << 40


@pytest.mark.parametrize("by", ["steps", "time"])
def test_least_first_cost_over_the_plans_is_that_of_the_route(by: By) -> None:
    compared = 0
    for seed in range(600_000, 600_300):
        record = fold_log(random_record(seed, 5, 6))
        world = World(record, None, by)
        for name in (name for name, part in record.parts.items() if not part.stays):
            route = world.route(name)
            if route is None:
                continue
            excerpt = world.excerpts[(world.problem.target[name],)]
            assert excerpt is not None
            outlooks = [one for one in excerpt.plans.values() if one is not None]
            firsts = [Schedule(one, excerpt.pricer(by), Allowance(PLENTY)).least_first(START) for one in outlooks]
            least = route.steps if by == "steps" else route.time / world.problem.unit
            assert min(firsts) == least
            compared += 1
    assert compared > 300


def test_a_quick_bound_is_never_above_the_exact_rest() -> None:
    for seed in range(610_000, 610_200):
        record = fold_log(random_record(seed, 5, 6))
        world = World(record)
        for name in (name for name, part in record.parts.items() if not part.stays):
            if world.route(name) is None:
                continue
            excerpt = world.excerpts[(world.problem.target[name],)]
            assert excerpt is not None
            for outlook in (one for one in excerpt.plans.values() if one is not None):
                for alone in (outlook.steps, outlook.time):
                    for known in list(alone.rests.values()):
                        if known.state[0] != outlook.plan.events:
                            assert alone._chains(known.state) <= alone.value(known.state, Allowance(PLENTY))
