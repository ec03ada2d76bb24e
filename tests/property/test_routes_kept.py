"""Routes kept over edits, or solved for both objectives together, are the routes of a record solved afresh."""

from __future__ import annotations

import copy
import random
from typing import Any

from support.random_record import random_record, random_tree
from unfasten.record.fold import fold_log
from unfasten.record.record import Record
from unfasten.routes.keep import Keeper
from unfasten.routes.solve import solve, solve_both


def edited(rng: random.Random, tree: dict[str, Any]) -> dict[str, Any]:
    """The tree after one random edit: a fact changed, a joint or part more, a joint less, or entries of the log."""
    tree = copy.deepcopy(tree)
    joints, parts = tree["joints"], [name for name in tree["parts"] if name != "frame"]
    kind = rng.choice(("cover", "tool", "time", "survey", "setup", "class", "joint", "part", "log", "drop"))
    name = rng.choice(list(joints))
    way = rng.choice(joints[name]["ways"])
    if kind == "cover":
        way["under"] = [rng.choice(parts)] if not way.get("under") else []
    elif kind == "tool":
        way["tools"] = [] if way["tools"] else [rng.choice(list(tree["tools"]))]
    elif kind == "time":
        way["time"] = rng.choice(["0 s", "1/3 s", "2 s each"]).replace("1/3", "0.3")
    elif kind == "survey":
        way["survey"] = "full" if way.get("survey") == "partial" else "partial"
    elif kind == "setup":
        tree["setup"]["tool_change"] = rng.choice(["0 s", "1 s", "2.5 s"])
    elif kind == "class":
        tree["tools"][rng.choice(list(tree["tools"]))]["class"] = rng.choice(["basic", "commercial"])
    elif kind == "joint":
        tree["joints"] = {f"new-{len(joints)}": copy.deepcopy(joints[name]), **joints}
    elif kind == "part":
        tree["parts"][f"more-{len(parts)}"] = {"name": "More", "lift": {"behind": [rng.choice(parts)]}}
    elif kind == "log":
        tree["log"] = tree["log"][: rng.randint(0, len(tree["log"]))]
    elif len(joints) > 1 and not any(name in swing.get("keeps", ()) for swing in tree["swings"].values()):
        tree["log"] = [entry for entry in tree["log"] if entry.get("joint") != name]
        for swing in tree["swings"].values():
            swing["still_covers"] = [one for one in swing.get("still_covers", ()) if one != name]
        del joints[name]
    return tree


def test_kept_routes_are_those_solved_afresh() -> None:
    reused = 0
    for seed in range(60):
        rng = random.Random(seed)
        tree = random_tree(rng, 4, 5)
        if not tree["joints"]:
            continue
        keeper = Keeper()
        trees = [tree]
        for _ in range(8):
            record = Record.model_validate(trees[-1])
            assert keeper.update(fold_log(record)) == solve_both(record)
            reused += len(record.parts) - 1 - len(set(keeper.searched))
            trees.append(rng.choice(trees[:-1]) if rng.random() < 0.2 and len(trees) > 1 else edited(rng, trees[-1]))
    assert reused > 500


def test_another_record_may_be_asked_for_at_any_time() -> None:
    keeper = Keeper()
    for seed in [*range(40), *range(40)]:
        record = random_record(seed, 4, 5)
        assert keeper.update(fold_log(record)) == solve_both(record)
    assert keeper.searched == ()


def test_both_objectives_together_are_each_by_itself() -> None:
    """Solved together, one objective starts from what the other found; that must not show."""
    for seed in range(900_000, 900_500):
        record = random_record(seed, 4, 6)
        together = solve_both(record)
        assert together["steps"] == solve(record, by="steps")
        assert together["time"] == solve(record, by="time")
