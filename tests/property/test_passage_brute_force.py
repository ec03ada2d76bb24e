"""Whether a part comes out under a limit, against a search that tries every legal order."""

from __future__ import annotations

import random

import pytest

from support.limited_search import comes_out
from support.random_record import random_tree
from unfasten.record.record import Record
from unfasten.rules.case import Allowed
from unfasten.service.passage import Passages

REUSES = ["reusable", "resupplied", "removable", "none", None]
CLASSES = ["basic", "with-part", "commercial", "proprietary", None]


def open_record(seed: int) -> Record:
    """A random record in which reuse and classes of tools are known or not."""
    rng = random.Random(seed)
    tree = random_tree(rng, rng.randint(1, 3), 4)
    for joint in tree["joints"].values():
        joint["reuse"] = rng.choice(REUSES)
    for tool in tree["tools"].values():
        tool["class"] = rng.choice(CLASSES)
    return Record.model_validate(tree)


def limit(rng: random.Random, parts: list[str]) -> Allowed:
    """A random limit."""
    tools = frozenset(c for c in CLASSES if c and rng.random() < 0.7)
    reuse = None if rng.random() < 0.3 else frozenset(r for r in REUSES if r and rng.random() < 0.7)
    without = frozenset(rng.sample(parts, 1)) if rng.random() < 0.2 else frozenset()
    return Allowed(tools, reuse, heat=rng.random() < 0.6, without=without)


@pytest.mark.parametrize("start", range(0, 400, 100))
def test_small_random_records(start: int) -> None:
    found: set[tuple[bool, bool]] = set()
    for seed in range(start, start + 100):
        record, rng = open_record(seed), random.Random(seed)
        passages = Passages(record)
        parts = [name for name, part in record.parts.items() if not part.stays]
        free = Allowed(frozenset(c for c in CLASSES if c))
        for _ in range(3):
            allowed = limit(rng, parts)
            for part in parts:
                passage = passages(part, allowed)
                if not comes_out(record, part, free, at_worst=False):
                    assert (passage.certain, passage.possible) == (False, True)
                    continue
                assert passage.certain == comes_out(record, part, allowed, at_worst=True), (seed, part, allowed)
                assert passage.possible == comes_out(record, part, allowed, at_worst=False), (seed, part, allowed)
                assert bool(passage.faults) == (not passage.possible)
                assert bool(passage.look) == (passage.possible and not passage.certain)
                found.add((passage.certain, passage.possible))
    assert found == {(True, True), (False, True), (False, False)}
