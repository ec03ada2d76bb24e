"""Two programs that were written apart agree on what is allowed: the check of a log and the replay of a route."""

from __future__ import annotations

import random
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from support.random_record import random_tree
from unfasten.record.contradiction import contradiction_remarks
from unfasten.record.fold import fold_log, lift_of
from unfasten.record.record import Record
from unfasten.routes.replay import Bench
from unfasten.routes.result import Action

Move = tuple[dict[str, Any], Action]


def moves(record: Record) -> list[Move]:
    """Every single entry that a log could hold, with the action that a route would call it."""
    out: list[Move] = [
        ({"do": "release", "joint": name, "way": number}, Action("release", joint=name, way=number))
        for name, joint in record.joints.items()
        for number in range(len(joint.ways))
    ]
    out += [
        ({"do": "lift", "part": name}, Action("lift", part=name, tools=lift_of(part).tools))
        for name, part in record.parts.items()
        if not part.stays
    ]
    out += [({"do": "lift", "bundle": name}, Action("lift", bundle=name)) for name in record.bundles]
    out += [({"do": "swing", "swing": name}, Action("swing", swing=name)) for name in record.swings]
    return out


@settings(max_examples=60, deadline=None)
@given(seed=st.integers(0, 10**6), steps=st.integers(1, 14))
def test_log_check_and_replay_agree(seed: int, steps: int) -> None:
    rng = random.Random(seed)
    tree = random_tree(rng, parts=5, joints=6)
    found = [entry for entry in tree["log"] if entry["do"] == "found"]
    record = Record.model_validate(tree | {"log": found})
    bench = Bench(fold_log(record))
    log: list[dict[str, Any]] = []
    for _ in range(steps):
        entry, action = rng.choice(moves(record))
        reason = bench.why_not(action)
        tried = Record.model_validate(tree | {"log": [*found, *log, entry]})
        remarks = list(contradiction_remarks(tried))
        assert bool(remarks) == (reason is not None), (entry, reason, remarks)
        if reason is None:
            bench.do(action)
            log.append(entry)
