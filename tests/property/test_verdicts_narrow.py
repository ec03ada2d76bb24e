"""Evidence never turns met or not met back to unknown; what is left to look at is left only where a verdict is open."""

from __future__ import annotations

import copy
import random
from datetime import date
from typing import Any

from hypothesis import assume, given, settings
from hypothesis import strategies as st

from support.random_record import random_tree
from unfasten.record.fold import fold_log
from unfasten.record.record import Record
from unfasten.routes.opencover import open_covers
from unfasten.routes.unknown import unknown_covers
from unfasten.rules.verdict import Ruling
from unfasten.service.passage import FREE, Passages
from unfasten.service.requirements import label, requirements

SETS = {"eu-2023-1670": "2026-06-01", "eu-2023-1542-11": "2027-06-01"}
CATEGORIES = ["smartphone", "foldable-smartphone", "slate-tablet", "foldable-slate-tablet", "other"]
NAMES = [{"role": "battery"}, {"role": "back-cover"}, {"role": "speaker"}, {"kind": "card-tray"}, {"role": "hinge"}]
REUSES = ["reusable", "resupplied", "removable", "none"]
CLASSES = ["basic", "with-part", "with-product", "commercial", "proprietary"]
ROLES = ["battery", "back-cover", "speaker", "card-tray", "hinge", "display-assembly", "charger"]
ROLE_LISTS = ["all", [], ["battery"], ["battery", "back-cover", "charger"], ROLES]
SUPPLY: dict[str, list[Any]] = {
    "spare_parts.public": ROLE_LISTS,
    "spare_parts.professional": ROLE_LISTS,
    "spare_parts.years": [4, 5, 7, 9],
    "spare_parts.bundled": [[], [["battery", "back-cover"]], [["speaker", "back-cover"]]],
    "updates.years": [4, 5],
    "delivery": [[{"year": 1, "days": 5}], [{"year": 1, "days": 3}, {"year": 6, "days": 12}]],
    "prices": ["all", "some"],
    "response.registration": [5, 6],
    "response.information": [1, 2],
    "response.pairing": [3, 4],
    "pairing_software.public": ROLE_LISTS,
    "pairing_software.professional": ROLE_LISTS,
    "pairing_software.years": [6, 7],
    "pairing_software.asks": [["notification"], ["other"]],
    "common_charger": [True, False],
    "battery_instructions": ["online", "none"],
}
TESTS: dict[str, list[Any]] = {
    "ingress": ["IP67", "IP42", "IP33", "IPX8"],
    "scratch": [3, 4],
    "spill": ["passed", "failed"],
    "endurance": ["20 h", "40.0 ± 0.5 h"],
    "falls": [[300] * 5, [40, 50, 60, 300, 300], [10] * 5],
    "falls_extended": [[45] * 5, [10] * 5],
    "actuations.power_button": [300_000, 10],
    "actuations.volume_button": [300_000, 10],
    "actuations.charging_port": [300_000, 10],
}
#: one ageing curve, read at more and more points: readings that agree with one another
CURVES = [[(500, 90), (800, 86), (1000, 82)], [(500, 82), (800, 79), (1000, 70)], [(500, 84), (800, 80), (1000, 79)]]


def put(tree: dict[str, Any], place: str, value: Any) -> None:
    *above, last = place.split(".")
    for step in above:
        tree = tree.setdefault(step, {})
    tree[last] = value


def full_tree(seed: int) -> dict[str, Any]:
    """A record in which everything that the rules ask for is known, covers excepted."""
    rng = random.Random(seed)
    tree = random_tree(rng, rng.randint(2, 4), 5)
    tree["product"]["category"] = rng.choice(CATEGORIES)
    tree["product"]["mass"] = rng.choice(["500 g", "6 kg"])
    for joint in tree["joints"].values():
        joint["reuse"] = rng.choice(REUSES)
    for tool in tree["tools"].values():
        tool["class"] = rng.choice(CLASSES)
    for number, (part, named) in enumerate(zip(list(tree["parts"])[1:], NAMES, strict=False)):
        tree["parts"][part] |= named
        tree["parts"][part]["replacing"] = {
            "environment": rng.choice(["use", "use", "workshop", "production-equivalent"]),
            "skill": rng.choice(["layman", "layman", "generalist", "expert"]),
        }
        if number == 0:
            tree["parts"][part] |= {
                "mass": "100 g",
                "battery": {"nominal_voltage": "4 V", "rated_capacity": "2500 mAh"},
            }
        if rng.random() < 0.6:
            tree["parts"][part]["pairing"] = ["authorisation"]
        swap = {"part": part, "donor": {"source": rng.choice(["same-model", "other-maker"])}}
        swap |= {
            "accepted": rng.choice(["full", "limited", "refused"]),
            "asked": tree["parts"][part].get("pairing", []),
        }
        tree.setdefault("swap_tests", {})[f"s{number}"] = swap
    for section, choices in (("supply", SUPPLY), ("tests", TESTS)):
        for place, values in choices.items():
            put(tree, f"{section}.{place}", rng.choice(values))
    tree["tests"]["capacity"] = [{"cycles": n, "left": f"{p} %"} for n, p in rng.choice(CURVES)]
    return tree


def forget(tree: dict[str, Any], rng: random.Random, chance: float) -> dict[str, Any]:
    """The same record with some of it not known."""
    out = copy.deepcopy(tree)
    bodies = [*out["joints"].values(), *out["tools"].values(), *out["parts"].values(), out["tests"], out["supply"]]
    bodies += [part["replacing"] for part in out["parts"].values() if "replacing" in part]
    bodies += [v for b in (out["tests"], out["supply"]) for v in b.values() if isinstance(v, dict)]
    keys = {
        "reuse",
        "class",
        "environment",
        "skill",
        "pairing",
        "battery",
        *(k.split(".")[-1] for k in (*SUPPLY, *TESTS)),
    }
    for body in bodies:
        for key in sorted(keys & set(body)):
            if rng.random() < chance:
                del body[key]
    out["supply"] = {k: v for k, v in out["supply"].items() if k != "updates" or v}
    out["tests"]["capacity"] = [row for row in out["tests"]["capacity"] if rng.random() > chance]
    out["swap_tests"] = {k: v for k, v in out.get("swap_tests", {}).items() if rng.random() > chance}
    return out


def answered(tree: dict[str, Any], rng: random.Random) -> dict[str, Any]:
    """The same record with some unknown covers answered in the log."""
    out = copy.deepcopy(tree)
    for cover in open_covers(unknown_covers(fold_log(Record.model_validate(tree)))):
        if rng.random() < 0.5:
            real = "under" if cover.kind == "joint" else "behind"
            entry: dict[str, Any] = {"do": "found", cover.kind: cover.id}
            entry |= {"way": cover.way} if cover.kind == "joint" else {}
            out["log"].append(entry | {rng.choice([real, "clear_of"]): [cover.cover]})
    return out


def stuck(tree: dict[str, Any]) -> set[str]:
    """Parts that the record shows no way out for, even if no unknown cover is real."""
    passages = Passages(Record.model_validate(tree))
    return {name for name in tree["parts"] if any("no way out" in look.what for look in passages(name, FREE).look)}


def verdicts(tree: dict[str, Any]) -> dict[str, Ruling]:
    """Every requirement of both sets."""
    record = Record.model_validate(tree)
    found = [requirements(record, date.fromisoformat(day), name) for name, day in SETS.items()]
    return {f"{answer.rules}.{ruling.id}": ruling for answer in found for ruling in answer.rulings}


@settings(max_examples=200, deadline=None)
@given(st.integers(0, 1_000_000), st.floats(0.1, 0.9))
def test_evidence_never_turns_a_verdict_back_to_unknown(seed: int, chance: float) -> None:
    rng = random.Random(seed)
    known = full_tree(seed)
    less = forget(known, rng, chance)
    told = answered(less, rng)
    assume(stuck(told) == stuck(less))  # an answer that leaves no way out at all contradicts that the part came out
    for before, after in ((verdicts(less), verdicts(known)), (verdicts(less), verdicts(told))):
        for name, ruling in before.items():
            later = after[name].verdict
            if ruling.verdict in ("met", "not met"):
                assert later in (ruling.verdict, "does not apply"), name
            if ruling.verdict == "does not apply":
                assert later == "does not apply", name


@settings(max_examples=80, deadline=None)
@given(st.integers(0, 1_000_000), st.floats(0.1, 0.9))
def test_an_unknown_verdict_says_what_to_look_at_and_a_known_one_asks_nothing(seed: int, chance: float) -> None:
    for ruling in verdicts(forget(full_tree(seed), random.Random(seed), chance)).values():
        assert bool(ruling.look_at()) == (ruling.verdict == "unknown"), ruling
        assert all(look.where and look.what for look in ruling.look_at())


@settings(max_examples=80, deadline=None)
@given(st.integers(0, 1_000_000), st.floats(0.1, 0.9))
def test_evidence_never_widens_a_quantity_of_the_label(seed: int, chance: float) -> None:
    known = full_tree(seed)
    known["product"]["category"] = "slate-tablet"
    less = forget(known, random.Random(seed), chance)
    before, after = (label(Record.model_validate(tree), date(2026, 6, 1)).measures for tree in (less, known))
    for old, new in zip(before, after, strict=True):
        if old.figure is not None:
            assert new.figure is not None
            assert old.figure.low <= new.figure.low, old.id
            assert old.is_open_above or (new.figure.high <= old.figure.high and not new.is_open_above), old.id
        if old.grade is not None:
            assert new.grade is not None
            assert old.grade.high <= new.grade.high <= new.grade.low <= old.grade.low
