"""Small random records that use every feature of the model, for the cross-check against brute force."""

from __future__ import annotations

import random
from typing import Any

from unfasten.record.record import Record


def random_tree(rng: random.Random, parts: int = 4, joints: int = 5) -> dict[str, Any]:
    """A record tree with up to `parts` parts besides the frame; circular covers and dead ends included."""
    names = [f"p{i}" for i in range(parts)]
    every = [*names, "frame"]
    tools = {f"t{i}": {"name": f"T{i}", "class": rng.choice(["basic", "basic", "commercial"])} for i in range(3)}
    tree: dict[str, Any] = {
        "format": "unfasten-record/1",
        "product": {"id": "rnd", "name": "Random", "maker": "Fellwright", "category": "slate-tablet"},
        "setup": {"tool_change": rng.choice(["1.4 s", "0 s", "1 s"]), "turn_over": rng.choice(["1.8 s", "0 s", "1 s"])},
        "tools": tools,
        "parts": {"frame": {"name": "Frame", "stays": True}},
        "joints": {},
        "bundles": {},
        "swings": {},
        "log": [],
    }

    def some(pool: list[str], most: int) -> list[str]:
        return rng.sample(pool, min(len(pool), rng.randint(0, most)))

    def covers(pool: list[str], chance: float) -> list[Any]:
        out: list[Any] = []
        while pool and rng.random() < chance and len(out) < 2:
            out.append(rng.choice(pool) if rng.random() < 0.7 or len(pool) < 2 else rng.sample(pool, 2))
        return out

    def seconds() -> str:
        return rng.choice(["0 s", "0 s", "1 s", "2 s", "5 s"])

    def lift(pool: list[str]) -> dict[str, Any]:
        out: dict[str, Any] = {"side": rng.choice(["any", "any", "back", "front"]), "time": seconds()}
        out["behind"] = covers(pool, 0.2)
        out["tools"] = some(list(tools), 1) if rng.random() < 0.2 else []
        if rng.random() < 0.3:
            out["survey"] = "partial"
        return out

    for name in names:
        tree["parts"][name] = {"name": name.upper()}
        if rng.random() < 0.6:
            tree["parts"][name]["lift"] = lift([n for n in names if n != name])
    for number in range(rng.randint(1, joints)):
        held = rng.sample(every, 2 if rng.random() < 0.85 or len(every) < 3 else 3)
        ways = []
        for _ in range(1 if rng.random() < 0.75 else 2):
            pool = [n for n in names if n not in held] or names
            way: dict[str, Any] = {
                "tools": some(list(tools), 2),
                "side": rng.choice(["any", "back", "front"]),
                "time": rng.choice(["0 s", "1 s each", "3 s"]),
                "under": covers(pool if rng.random() < 0.9 else names, 0.4),
            }
            if rng.random() < 0.2:
                way["prepare"] = [
                    {"do": rng.choice(["heat", "clean"]), "tools": some(list(tools), 2), "time": seconds()}
                    for _ in range(rng.randint(1, 2))
                ]
            if rng.random() < 0.3:
                way["survey"] = "partial"
                way["clear_of"] = some(names, 1)
            ways.append(way)
        tree["joints"][f"j{number}"] = {"kind": "screw", "holds": held, "count": rng.randint(1, 3), "ways": ways}
    for number in range(rng.choice([0, 0, 1, 1, 2, 3])):
        if len(names) > 1:
            inside = rng.sample(names, rng.randint(2, min(3, len(names))))
            tree["bundles"][f"b{number}"] = {
                "parts": inside,
                "lift": lift([n for n in names if n not in inside] or names),
            }
    for number in range(rng.choice([0, 0, 1, 2])):
        part = rng.choice(names)
        swing_lift = lift([n for n in names if n != part] or names)
        swing_lift.pop("survey", None)
        holding = [j for j, joint in tree["joints"].items() if part in joint["holds"]]
        tree["swings"][f"s{number}"] = {
            "part": part,
            "keeps": some(holding, 2),
            "lift": swing_lift,
            "still_covers": some([*tree["joints"], *names], 2),
        }
    things = [{"do": "lift", "part": n} for n in names]
    things += [{"do": "release", "joint": j, "way": 0} for j in tree["joints"]]
    things += [{"do": "lift", "bundle": b} for b in tree["bundles"]]
    things += [{"do": "swing", "swing": s} for s in tree["swings"]]
    rng.shuffle(things)
    tree["log"] = things[: rng.randint(0, len(things))]
    if rng.random() < 0.3:
        joint = rng.choice(list(tree["joints"]))
        tree["log"].append({"do": "found", "joint": joint, rng.choice(["under", "clear_of"]): some(names, 1)})
    return tree


def random_record(seed: int, parts: int = 4, joints: int = 5) -> Record:
    """The record of one seed."""
    rng = random.Random(seed)
    return Record.model_validate(random_tree(rng, rng.randint(1, parts), joints))
