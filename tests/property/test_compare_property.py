"""Comparing: nothing differs from itself, either way round is the mirror image, and no record breaks it."""

from __future__ import annotations

import random
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from tests.support.random_record import random_tree

from unfasten.compare.comparison import compare_records
from unfasten.compare.difference import Difference
from unfasten.compare.headline import headlines
from unfasten.record.read import read_record
from unfasten.record.record import Record
from unfasten.service.compare import compare
from unfasten.service.compare_routes import priority_names

FOLDER = Path(__file__).parents[2] / "examples"
EXAMPLES = ["tarn-9", "tarn-11", "tarn-11-plus"]
DAY = date(2026, 6, 1)


def example(name: str) -> Record:
    found = read_record((FOLDER / f"{name}.yaml").read_bytes(), name).record
    assert found is not None
    return found


def varied(seed: int) -> Record:
    """A random record with names, sizes, masses, cables, holes and offers, so that everything can differ."""
    rng = random.Random(seed)
    tree = random_tree(rng, parts=rng.randint(2, 6), joints=6)
    tree["product"] |= {"id": rng.choice(["rnd", f"rnd-{seed}"]), "released": rng.choice(["2025-01-01", "2026-01-01"])}
    for part in tree["parts"].values():
        part |= facts(rng)
    for joint in tree["joints"].values():
        joint |= {"count": rng.randint(1, 3)}
        if rng.random() < 0.5:
            joint |= {"drive": rng.choice(["hexalobular 3", "cross recess 0"]), "thread": rng.choice(["M1.4", "M1.6"])}
    if rng.random() < 0.5:
        tree["supply"] = {"updates": {"years": rng.randint(3, 7)}}
    return Record.model_validate(tree)


def facts(rng: random.Random) -> dict[str, Any]:
    out: dict[str, Any] = {}
    if rng.random() < 0.6:
        out["mass"] = f"{rng.choice([1.0, 1.1, 5.0])}{rng.choice([' ± 0.1', ''])} g"
    if rng.random() < 0.5:
        out["size"] = [f"{rng.choice([10, 20])} mm", f"{rng.choice([5, 6])} mm", "1 mm"]
    if rng.random() < 0.4:
        places = [(rng.randint(0, 40), rng.randint(0, 20)) for _ in range(rng.randint(1, 5))]
        out["holes"] = [{"at": [f"{x}.00 ± 0.03 mm", f"{y}.00 ± 0.03 mm"], "diameter": "1.6 mm"} for x, y in places]
    if rng.random() < 0.4:
        out["cable"] = {"length": f"{rng.choice([20, 30])}.0 ± 0.3 mm", "connector": rng.choice(["plug", "contacts"])}
    if rng.random() < 0.3:
        out["pairing"] = ["notification"]
    if rng.random() < 0.3:
        out["hazards"] = [rng.choice(["glass", "laser"])]
    return out


def seen(one: Difference) -> tuple[object, ...]:
    """A difference without what depends on which record numbers its holes, and without common names."""
    bare = replace(one, owners=(), hosts=(), note="", magnitude=round(one.magnitude, 9))
    return (bare, len(one.owners), len(one.hosts))


def found(one: Record, other: Record) -> tuple[Difference, ...]:
    ((_, differences),) = compare_records([one, other]).steps
    return differences


@pytest.mark.parametrize("name", EXAMPLES)
def test_an_example_does_not_differ_from_itself(name: str) -> None:
    (step,) = compare([example(name), example(name)], DAY).steps
    assert step.differences == ()
    assert step.headlines == ()


@pytest.mark.parametrize("seed", range(60))
def test_a_record_does_not_differ_from_itself(seed: int) -> None:
    record = varied(seed)
    assert found(record, record) == ()


@pytest.mark.parametrize("seed", range(80))
def test_either_way_round_is_the_mirror_image(seed: int) -> None:
    one, other = varied(seed), varied(seed + 1000)
    forth = sorted((seen(each) for each in found(one, other)), key=repr)
    back = sorted((seen(each.mirrored()) for each in found(other, one)), key=repr)
    assert forth == back


@pytest.mark.parametrize("pair", [(0, 1), (1, 2), (0, 2)])
def test_the_examples_mirror_with_routes_and_scores(pair: tuple[int, int]) -> None:
    one, other = (example(EXAMPLES[number]) for number in pair)
    (forth,), (back,) = compare([one, other], DAY).steps, compare([other, one], DAY).steps
    assert sorted(map(repr, map(seen, forth.differences))) == sorted(
        repr(seen(each.mirrored())) for each in back.differences
    )
    assert [line.lead.key for line in forth.headlines] == [line.lead.key for line in back.headlines]


@pytest.mark.parametrize("seed", range(30))
def test_every_difference_stands_in_one_headline(seed: int) -> None:
    compared = compare_records([varied(seed), varied(seed + 500)])
    ((structure, differences),) = compared.steps
    told = headlines(differences, priority_names(structure.pair), lambda one: one.what)
    shown = [id(each) for line in told for each in (*line.differences, *line.follows)]
    assert sorted(shown) == sorted(id(each) for each in differences)


@pytest.mark.parametrize("seed", range(10))
def test_eight_records_with_clashing_ids_are_compared(seed: int) -> None:
    records = [varied(seed * 8 + number) for number in range(8)]
    compared = compare_records(records)
    assert len(compared.steps) == 7
    for number, record in enumerate(records):
        assert sum(row.members[number] is not None for row in compared.rows) == len(record.parts)


@pytest.mark.parametrize("seed", range(40))
def test_every_difference_has_evidence_or_is_computed(seed: int) -> None:
    for one in found(varied(seed), varied(seed + 2000)):
        assert one.evidence, one
        assert one.before != one.after
