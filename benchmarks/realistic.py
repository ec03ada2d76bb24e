"""Realistic records of any size, from a seed: shell, braces, modules and boards in layers, as a device is built.

Parts lie as discs in layers under the shell. A joint sits at a point of its part and lies under what covers that point
in the layers above, so covers are local, as in a real product. Screws, connectors, clips, tapes and glue (with heat),
some joints with two ways, some covers with an alternative, bundles, swings, partial surveys, and a log of one complete
disassembly from which the unknown covers follow. Everything is invented.
"""

from __future__ import annotations

import random
from dataclasses import dataclass
from typing import Any

from unfasten.record.record import Record
from unfasten.routes.problem import compile_problem

TOOLS = {
    "hex-3": "basic", "hex-5": "basic", "cross-00": "basic", "slot-1": "basic", "spudger": "basic", "tweezers": "basic",
    "pick": "basic", "cup": "commercial", "pad": "commercial", "special-y": "proprietary",
}  # fmt: skip
DRIVERS = ["cross-00", "hex-3", "hex-5", "slot-1"]
SHARES = [65, 28, 5, 2]  # a product has one main driver, a second one, and some odd screws (common practice)
ROLES = [
    "battery",
    "display-assembly",
    "front-camera",
    "rear-camera",
    "charging-port",
    "button",
    "microphone",
    "speaker",
]


@dataclass
class Disc:
    """A part as a disc in a layer; layer 0 is the shell."""

    name: str
    layer: int
    x: float
    y: float
    r: float

    def over(self, x: float, y: float) -> bool:
        """Tell whether the disc lies over a point."""
        return (self.x - x) ** 2 + (self.y - y) ** 2 <= self.r**2

    def hides(self, other: Disc) -> bool:
        """Tell whether the disc lies above another and overlaps it."""
        near = (self.x - other.x) ** 2 + (self.y - other.y) ** 2 <= (self.r + other.r) ** 2
        return self.layer < other.layer and near


def realistic_record(joints: int, seed: int, *, partial: float = 0.15, anywhere: bool = False) -> Record:
    """A record with about `joints` joints; the same seed gives the same record.

    `partial` is the share of ways with a partial survey. Their unknown covers are parts that lie over the joint, or,
    with `anywhere`, the last two that the log took out before, wherever they lie.
    """
    return Record.model_validate(realistic_tree(joints, seed, partial=partial, anywhere=anywhere))


def realistic_tree(joints: int, seed: int, *, partial: float = 0.15, anywhere: bool = False) -> dict[str, Any]:
    """The record as a tree (see `realistic_record`)."""
    rng = random.Random(seed)
    discs = _discs(rng, max(4, round(joints * 0.38)))
    tree: dict[str, Any] = {
        "format": "unfasten-record/1",
        "product": {"id": f"made-{joints}-{seed}", "name": f"Made {joints}", "maker": "Fellwright",
                    "category": "slate-tablet"},
        "tools": {name: {"name": name, "class": kind} for name, kind in TOOLS.items()},
        "parts": {"frame": {"name": "Frame", "stays": True}},
        "joints": {}, "bundles": {}, "swings": {}, "log": [],
        "supply": {"spare_parts": {"public": ["battery", "display-assembly", "back-cover"], "professional": "all"},
                   "updates": {"years": rng.choice([5, 6, 7])},
                   "repair_information": {"public": "free", "professional": "free", "board_diagrams": "professional"}},
    }  # fmt: skip
    for disc in discs:
        tree["parts"][disc.name] = {"name": disc.name}
        if disc.layer and rng.random() < 0.6:
            tree["parts"][disc.name]["lift"] = {"side": "back", "time": f"{rng.randint(1, 4)} s"}
    _shell(tree, discs[0])
    others = discs[1:]
    for disc, role in zip(rng.sample(others, min(len(others), len(ROLES))), ROLES, strict=False):
        tree["parts"][disc.name]["role"] = role
    while len(tree["joints"]) < joints:
        disc = others[len(tree["joints"]) % len(others)]
        _joint(tree, rng, disc, discs)
    _bundles(tree, rng, others)
    _swings(tree, rng, others)
    places = {disc.name: disc for disc in discs}
    _log(tree, rng, places)
    _surveys(tree, rng, partial, {} if anywhere else places)
    return tree


def _discs(rng: random.Random, parts: int) -> list[Disc]:
    discs = [Disc("cover", 0, 0.5, 0.5, 9.0)]
    layers = max(2, round(0.9 * parts**0.33))
    weights = [1.0 + 0.6 * z for z in range(layers)]
    for layer, weight in enumerate(weights, 1):
        count = max(1, round((parts - 1) * weight / sum(weights)))
        radius = 0.42 / count**0.5
        for number in range(count):
            discs.append(Disc(f"m{layer}-{number}", layer, rng.random(), rng.random(), radius * rng.uniform(0.5, 1.3)))
    return discs


def _shell(tree: dict[str, Any], cover: Disc) -> None:
    tree["parts"][cover.name] |= {"role": "back-cover", "lift": {"side": "back", "time": "3 s"}}
    heat = [{"do": "heat", "tools": ["pad"], "time": "120 s"}]
    tree["joints"]["shell-glue"] = {
        "kind": "adhesive",
        "holds": [cover.name, "frame"],
        "reuse": "resupplied",
        "ways": [{"tools": ["pick"], "side": "back", "time": "60 s", "prepare": heat}],
    }
    tree["joints"]["shell-clips"] = {"kind": "clip", "holds": [cover.name, "frame"], "count": 10, "reuse": "reusable",
                                     "ways": [{"tools": ["pick"], "side": "back", "time": "3 s each"}]}  # fmt: skip


def _joint(tree: dict[str, Any], rng: random.Random, disc: Disc, discs: list[Disc]) -> None:
    x = disc.x + rng.uniform(-0.6, 0.6) * disc.r
    y = disc.y + rng.uniform(-0.6, 0.6) * disc.r
    below = [d for d in discs if d.layer == disc.layer + 1 and d.over(x, y)]
    holds = [disc.name, rng.choice(below).name if below and rng.random() < 0.15 else "frame"]
    covers = [d for d in discs if d.layer < disc.layer and d.over(x, y)]
    nearest = sorted(covers, key=lambda d: -d.layer)[: rng.choice([1, 1, 2])]
    under: list[Any] = [d.name for d in nearest] or ["cover"]
    if len(under) == 2 and rng.random() < 0.25:
        under = [under]
    kind = rng.choices(["screw", "connector", "clip", "tape", "adhesive"], [5, 3, 1, 1, 0.7])[0]
    tools = {"screw": rng.choices(DRIVERS, SHARES), "connector": ["spudger"], "clip": ["pick"], "tape": ["tweezers"],
             "adhesive": ["pick"]}[kind]  # fmt: skip
    if kind in ("connector", "tape") and rng.random() < 0.3:
        tools = []
    if kind == "screw" and rng.random() < 0.03:
        tools = ["special-y"]
    count = rng.randint(1, 5) if kind == "screw" else 1
    side = "front" if rng.random() < 0.06 else "back"
    way: dict[str, Any] = {"tools": tools, "side": side, "time": f"{rng.randint(2, 9)} s each", "under": under}
    if kind == "adhesive" and rng.random() < 0.6:
        way["prepare"] = [{"do": "heat", "tools": ["pad"], "time": f"{rng.choice([30, 60, 90])} s"}]
    ways = [way]
    if rng.random() < 0.12:
        other = {**way, "tools": [rng.choice(["tweezers", "pick", "cup"])], "time": f"{rng.randint(4, 20)} s each"}
        ways.append({**other, "under": [d.name for d in nearest[:1]] or ["cover"]})
    reuse = {"adhesive": "resupplied", "tape": "removable"}.get(kind, "reusable")
    name = f"j{len(tree['joints'])}"
    tree["joints"][name] = {"kind": kind, "holds": holds, "count": count, "reuse": reuse, "ways": ways}


def _bundles(tree: dict[str, Any], rng: random.Random, discs: list[Disc]) -> None:
    pairs = [j["holds"] for j in tree["joints"].values() if "frame" not in j["holds"]]
    rng.shuffle(pairs)
    for number, pair in enumerate(pairs[: max(1, len(discs) // 12)]):
        if len(set(pair)) == 2:
            tree["bundles"][f"b{number}"] = {"parts": list(pair), "lift": {"side": "back", "time": "3 s"}}


def _swings(tree: dict[str, Any], rng: random.Random, discs: list[Disc]) -> None:
    for number, disc in enumerate(rng.sample(discs, max(1, len(discs) // 20))):
        cables = [n for n, j in tree["joints"].items() if disc.name in j["holds"] and j["kind"] == "connector"]
        if cables:
            tree["swings"][f"s{number}"] = {"part": disc.name, "keeps": cables[:1],
                                            "lift": {"side": "back", "time": "2 s"}}  # fmt: skip


def _log(tree: dict[str, Any], rng: random.Random, discs: dict[str, Disc]) -> None:
    """One complete disassembly as a person works: whatever is legal, mostly near where the hand is, till all is out."""
    problem = compile_problem(Record.model_validate(tree))
    done, x, y = 0, 0.5, 0.5
    pending = [i for i, e in enumerate(problem.events) if e.kind != "swing" and e.id not in tree["bundles"]]
    while True:
        legal = [
            i for i in pending
            if not problem.events[i].needs & ~done and all(c & done for c in problem.events[i].ways[0].clauses)
        ]  # fmt: skip
        if not legal:
            return
        places = {i: _place(tree, problem.events[i].kind, problem.events[i].id, discs) for i in legal}
        near = sorted(legal, key=lambda i: ((places[i][0] - x) ** 2 + (places[i][1] - y) ** 2, i))
        index = rng.choice(near[:3])
        x, y = places[index]
        pending.remove(index)
        done |= 1 << index
        event = problem.events[index]
        key = "joint" if event.kind == "release" else "part"
        tree["log"].append({"do": event.kind, key: event.id})


def _place(tree: dict[str, Any], kind: str, name: str, discs: dict[str, Disc]) -> tuple[float, float]:
    disc = discs[name if kind == "lift" else tree["joints"][name]["holds"][0]]
    return disc.x, disc.y


def _surveys(tree: dict[str, Any], rng: random.Random, share: float, discs: dict[str, Disc]) -> None:
    """Make some ways partial: open is every part above, taken out before, whose disc meets that of the joint's part.

    Of all other parts a photograph shows that they do not hide the joint: they lie beside it or below it. Without
    `discs` the last two parts are open that were taken out anywhere. A deep part of one corner may then come to cover a
    shallow joint of another, and chains through the whole device tie everything together: harder than any bench log.
    """
    seen: list[str] = []
    for entry in tree["log"]:
        if entry["do"] == "lift":
            seen.append(entry["part"])
            continue
        joint = tree["joints"][entry["joint"]]
        way = joint["ways"][0]
        if rng.random() < share and seen:
            over = [name for name in seen if discs[name].hides(discs[joint["holds"][0]])] if discs else seen[-2:]
            way["survey"] = "partial"
            way["clear_of"] = [name for name in seen if name not in str(way["under"]) and name not in over]
