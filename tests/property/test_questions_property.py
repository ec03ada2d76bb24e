"""Questions: answers never widen, all answers give the truth, ranks repeat, and settled means settled."""

from __future__ import annotations

import random
from collections.abc import Iterator
from datetime import date
from itertools import product
from typing import Any

import pytest

from support.random_record import random_tree
from unfasten.record.fold import fold_log
from unfasten.record.record import Record
from unfasten.routes.opencover import OpenCover, taken_as_real
from unfasten.routes.questions import Asker, is_open, span_of
from unfasten.routes.solve import solve
from unfasten.routes.world import World
from unfasten.routes.worlds import Answers, Worlds
from unfasten.service.answer import answer_entry
from unfasten.service.ask import ask
from unfasten.service.assess import assess_record

DAY = date(2026, 6, 1)
ROLES = ["battery", "display-assembly", "back-cover", "front-camera", "speaker", "rear-camera"]
REUSES = ["reusable", "resupplied", "removable", "none"]
#: most open covers of a record whose truths are all tried
FEW = 6


def made(seed: int, parts: int = 5, joints: int = 6) -> Record:
    """A random record with roles and reuses, a whole log and partial surveys throughout."""
    rng = random.Random(seed)
    tree: dict[str, Any] = random_tree(rng, parts, joints)
    tree["setup"]["survey"] = "partial"
    tree["product"]["category"] = "slate-tablet"
    for name, part in tree["parts"].items():
        if name != "frame":
            part["role"] = rng.choice(ROLES)
    for joint in tree["joints"].values():
        joint["reuse"] = rng.choice(REUSES)
    return Record.model_validate(tree)


def small_ones(count: int) -> Iterator[tuple[int, Record, Worlds]]:
    """Random records with one to `FEW` open covers."""
    seed = 0
    while count:
        seed += 1
        record = made(seed)
        worlds = Worlds(fold_log(record))
        if 0 < len(worlds.covers) <= FEW:
            count -= 1
            yield seed, record, worlds


def truths(covers: tuple[OpenCover, ...]) -> Iterator[frozenset[OpenCover]]:
    """Every set of covers that may be the real ones."""
    for chosen in product((False, True), repeat=len(covers)):
        yield frozenset(cover for cover, real in zip(covers, chosen, strict=True) if real)


def told(record: Record, covers: tuple[OpenCover, ...], real: frozenset[OpenCover]) -> Record:
    """The record with every question answered."""
    entries = [answer_entry(record, cover, covers=cover in real) for cover in covers]
    return record.model_copy(update={"log": (*record.log, *entries)})


def parts_of(record: Record) -> list[str]:
    return [name for name, part in record.parts.items() if not part.stays]


@pytest.mark.parametrize("first", range(0, 200, 50))
def test_a_route_in_any_world_is_that_of_the_uncut_record(first: int) -> None:
    for seed in range(first, first + 50):
        rng = random.Random(seed)
        folded = fold_log(made(seed))
        worlds = Worlds(folded)
        real = frozenset(cover for cover in worlds.covers if rng.random() < 0.5)
        whole = World(folded, taken_as_real(real))
        for part in parts_of(folded):
            ours, theirs = worlds.route(part, real), whole.route(part)
            assert (ours and ours.actions) == (theirs and theirs.actions), (seed, part)


def test_an_answer_narrows_or_keeps_the_steps_of_every_part() -> None:
    for seed, record, worlds in small_ones(40):
        rng = random.Random(seed)
        answers = Answers()
        for cover in rng.sample(worlds.covers, len(worlds.covers)):
            later = answers.told(cover, real=rng.random() < 0.5)
            for part in parts_of(record):
                low, high = span_of(worlds.reach(part, answers), record)
                new_low, new_high = span_of(worlds.reach(part, later), record)
                assert low <= new_low <= new_high <= high, (seed, part, cover)
            answers = later


def test_all_answers_give_the_route_of_the_truth() -> None:
    for seed, record, worlds in small_ones(30):
        rng = random.Random(seed)
        real = frozenset(cover for cover in worlds.covers if rng.random() < 0.5)
        reaches = solve(told(record, worlds.covers, real))
        whole = World(fold_log(record), taken_as_real(real))
        for part, reach in reaches.items():
            route = whole.route(part)
            assert reach.steps_low == reach.steps_high, (seed, part)
            assert (reach.low and reach.low.steps) == (route and route.steps), (seed, part)
            assert (reach.high and reach.high.actions) == (route and route.actions), (seed, part)


def test_what_narrows_is_asked_and_ranks_repeat() -> None:
    for seed, record, worlds in small_ones(25):
        part = parts_of(record)[seed % len(parts_of(record))]
        asking = ask(record, DAY, part)
        assert [a.question for a in ask(record, DAY, part).questions] == [a.question for a in asking.questions]
        asked = {a.question.cover: a.question for a in asking.questions}
        assert set(asked) <= worlds.relevant(part)
        low, high = span_of(worlds.reach(part, Answers()), record)
        for cover in worlds.covers:
            widths = []
            for real in (True, False):
                entry = answer_entry(record, cover, covers=real)
                reach = solve(record.model_copy(update={"log": (*record.log, entry)}), [part])[part]
                new_low, new_high = span_of(reach, record)
                widths.append(new_high - new_low)
            narrows = high - low - sum(widths) / 2
            assert narrows == (float(asked[cover].narrows) if cover in asked else 0), (seed, cover)


def test_settled_steps_are_settled_and_open_ones_are_not() -> None:
    seen = set()
    for seed, record, worlds in small_ones(30):
        for part in parts_of(record):
            settled = ask(record, DAY, part).settled
            routes = [worlds.route(part, real) for real in truths(worlds.covers)]
            assert settled == (len({route and route.steps for route in routes}) == 1), (seed, part)
            seen.add(settled)
    assert seen == {True, False}


def test_a_settled_class_is_the_class_in_every_truth() -> None:
    seen = set()
    for seed, record, worlds in small_ones(20):
        shown = assess_record(record, DAY).grade
        classes = set()
        for real in truths(worlds.covers):
            grade = assess_record(told(record, worlds.covers, real), DAY).grade
            classes.add(grade and (grade.low, grade.high))
        settled = ask(record, DAY, "class").settled
        assert settled == (classes == {shown and (shown.low, shown.high)}), (seed, classes)
        seen.add(settled)
    assert seen == {True, False}


def test_a_part_without_choice_is_asked_nothing() -> None:
    for _, record, worlds in small_ones(30):
        for part in parts_of(record):
            asker = Asker(worlds, [part], lambda reaches: 0)  # type: ignore[arg-type,return-value]
            if not is_open(asker.reaches[part]):
                assert asker.open() == []
                assert worlds.route(part, frozenset()) == worlds.route(part, frozenset(worlds.covers))
