"""The best route without something, against uniform-cost search on the replay's bench from which it was taken away."""

from __future__ import annotations

import random

import pytest

from support import brute_force
from support.random_record import random_record
from unfasten.record.fold import fold_log
from unfasten.record.record import Record
from unfasten.routes.result import Action
from unfasten.routes.unknown import Unknown
from unfasten.routes.without import Side, Thing, without

CHUNK = 100


def uses(record: Record, macro: tuple[Action, ...], thing: Thing) -> bool:
    """Whether a release (with its preparations), lift or swing does what is to be done without."""
    last = macro[-1]
    if thing.kind == "part":
        inside = last.bundle is not None and thing.id in record.bundles[last.bundle].parts
        return last.part == thing.id or inside
    if thing.kind == "tool":
        return any(thing.id in action.tools for action in macro)
    if thing.kind == "preparation":
        return any(action.what == thing.id for action in macro)
    return getattr(last, thing.kind) == thing.id


def things_of(record: Record, target: str) -> list[Thing]:
    """Everything in a record that can be done without."""
    parts = [name for name, part in record.parts.items() if not part.stays and name != target]
    out = [Thing("part", name) for name in parts] + [Thing("joint", name) for name in record.joints]
    out += [Thing("bundle", name) for name in record.bundles] + [Thing("swing", name) for name in record.swings]
    return out + [Thing("tool", name) for name in record.tools] + [Thing("preparation", "heat")]


def agree(record: Record, target: str, things: list[Thing], by: str, unknown: Unknown | None, side: Side) -> bool:
    """Assert that a side is right; tell whether there is a route."""
    macros = [m for m in brute_force.all_macros(record) if not any(uses(record, m, thing) for thing in things)]
    least = brute_force._least(record, macros, target, by, unknown)
    if least is None:
        assert side.route is None
        assert_closed(record, target, side)
        return False
    assert side.route is not None
    assert side.route.proven
    assert not any(uses(record, (action,), thing) for action in side.route.actions for thing in things)
    assert brute_force.price(record, side.route.actions, by) == least
    return True


def assert_closed(record: Record, target: str, side: Side) -> None:
    """Every event of the chain waits for events of the chain, and a joint does so by every way."""
    if side.reason is not None:
        assert not side.blocks
        return
    ids = {(block.kind, block.id) for block in side.blocks}
    assert ("lift", target) in ids
    for block in side.blocks:
        assert ids.issuperset(block.waits_for), block
        if block.how == "held":
            assert {kind for kind, _ in block.waits_for} == {"release"}
        if block.kind == "release":
            ways = [one.way for one in side.blocks if (one.kind, one.id) == ("release", block.id)]
            assert ways == [None] or set(ways) == set(range(len(record.joints[block.id].ways)))


@pytest.mark.parametrize("start", range(0, 600, CHUNK))
def test_small_random_records(start: int) -> None:
    reached = barred = chained = 0
    for seed in range(start, start + CHUNK):
        record, rng = fold_log(random_record(seed, 3, 4)), random.Random(seed)
        by = "steps" if seed % 2 else "time"
        for target in [name for name, part in record.parts.items() if not part.stays]:
            choices = things_of(record, target)
            things = rng.sample(choices, rng.choice([1, 1, 2]))
            found = without(record, target, things, by)  # type: ignore[arg-type]
            for side, unknown in ((found.low, None), (found.high, found.unknown)):
                has_route = agree(record, target, things, by, unknown, side)
                reached += has_route
                barred += not has_route
                chained += bool(side.blocks)
    assert min(reached, barred, chained) > CHUNK // 4
