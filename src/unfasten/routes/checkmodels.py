"""Families of products whose routes are known without a search: what the check values of the routes are computed with.

Every family is a record; steps and time come from the same search as for any other. The pen is counted by going through
every order of its connections and asking the replay, without the search.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from itertools import permutations
from typing import Any

from unfasten.evidence.checkvalue import Computed, Models
from unfasten.record.record import FORMAT, Record
from unfasten.routes.replay import Bench
from unfasten.routes.result import Action
from unfasten.routes.solve import solve

MODELS = Models()


def product(covers: Mapping[str, Sequence[object]], tools: Mapping[str, str] | None = None) -> Record:
    """A record in which every part has one joint to the frame, under what `covers` lists; all times 1 s."""
    used = {name: (tools or {}).get(name, "driver") for name in covers}
    tree: dict[str, Any] = {
        "format": FORMAT,
        "product": {"id": "family", "name": "Family", "maker": "Fellwright", "category": "other"},
        "setup": {"tool_change": "1 s", "turn_over": "1 s"},
        "tools": {name: {"name": name, "class": "basic"} for name in sorted(set(used.values()))},
        "parts": {"frame": {"name": "Frame", "stays": True}} | {name: {"name": name} for name in covers},
        "joints": {
            f"joint-{name}": {
                "kind": "screw",
                "holds": [name, "frame"],
                "ways": [{"tools": [used[name]], "time": "1 s", "under": list(under)}],
            }
            for name, under in covers.items()
        },
    }
    return Record.model_validate(tree)


def chain(length: int, tools: int = 1) -> Record:
    """Parts that lie one under the other, the tools taking turns."""
    names = [f"part-{number}" for number in range(1, length + 1)]
    covers = {name: names[max(0, number - 1) : number] for number, name in enumerate(names)}
    return product(covers, {name: f"driver-{number % tools}" for number, name in enumerate(names)})


def star(arms: int) -> Record:
    """A hub under all of its arms, which lie side by side."""
    names = [f"arm-{number}" for number in range(1, arms + 1)]
    return product(dict.fromkeys(names, ()) | {"hub": names})


def layers(count: int, width: int) -> Record:
    """Layers of parts, each part under all parts of the layer above."""
    rows = [[f"part-{layer}-{place}" for place in range(1, width + 1)] for layer in range(1, count + 1)]
    return product({name: rows[layer - 1] if layer else () for layer, row in enumerate(rows) for name in row})


def orders(connections: int, before: Iterable[tuple[int, int]]) -> int:
    """Orders in which every connection can be undone, each part being lifted as soon as it is free."""
    names = {number: f"part-{number}" for number in range(1, connections + 1)}
    rules = list(before)
    record = product({name: [names[a] for a, b in rules if b == number] for number, name in names.items()})
    return sum(_legal(record, [names[number] for number in order]) for order in permutations(names))


def _legal(record: Record, parts: Iterable[str]) -> bool:
    bench = Bench(record)
    for part in parts:
        release = Action("release", joint=f"joint-{part}", way=0)
        if bench.why_not(release):
            return False
        bench.do(release)
        bench.do(Action("lift", part=part))
    return True


def _depth(record: Record, target: str) -> Mapping[str, Computed]:
    route = solve(record, [target])[target].low
    if route is None or not route.proven:
        raise AssertionError(f"{target} has no proven route")
    return {"steps": route.steps, "time": route.time, "actions": len(route.actions)}


@MODELS.model("route-families.chain")
def chain_depth(given: Mapping[str, Any]) -> Mapping[str, Computed]:
    """Steps and time to the last part of a chain."""
    return _depth(chain(given["length"], given["tools"]), f"part-{given['length']}")


@MODELS.model("route-families.star")
def star_depth(given: Mapping[str, Any]) -> Mapping[str, Computed]:
    """Steps and time to the hub of a star."""
    return _depth(star(given["arms"]), "hub")


@MODELS.model("route-families.layers")
def layers_depth(given: Mapping[str, Any]) -> Mapping[str, Computed]:
    """Steps and time to a part of the lowest layer."""
    return _depth(layers(given["layers"], given["width"]), f"part-{given['layers']}-1")


@MODELS.model("route-families.orders")
def legal_orders(given: Mapping[str, Any]) -> Mapping[str, Computed]:
    """Legal orders of connections under rules of the form (first, second)."""
    return {"orders": orders(given["connections"], [(a, b) for a, b in given["before"]])}
