"""What-if against plain computation: nothing changed changes nothing, and the best change is the best of all."""

from __future__ import annotations

import random
from datetime import date
from itertools import combinations

import pytest

from support.random_record import random_tree
from unfasten.record.change import EditError, changed, read_changed, settled
from unfasten.record.record import Record
from unfasten.routes.result import Reach
from unfasten.routes.solve import solve
from unfasten.service.assess import assess_record
from unfasten.service.best import best_changes, offers, priority_parts
from unfasten.service.change import Change, catalogue
from unfasten.service.trial import Stand, Trial
from unfasten.service.whatif import what_if

DAY = date(2026, 6, 1)
RULES = "eu-2023-1669"
ROLES = ["battery", "display-assembly", "back-cover", "front-camera"]
REUSES = ["reusable", "resupplied", "removable", "none", None]
CLASSES = ["basic", "with-part", "with-product", "commercial", "proprietary", None]


def made(seed: int, parts: int = 3, joints: int = 4) -> Record:
    """A small random record with roles, reuses, tool classes, pairing and supply."""
    rng = random.Random(seed)
    tree = random_tree(rng, rng.randint(2, parts), joints)
    for name, part in tree["parts"].items():
        if name != "frame" and rng.random() < 0.85:
            part["role"] = rng.choice(ROLES)
            part["pairing"] = ["notification"] if rng.random() < 0.3 else []
            if rng.random() < 0.4:
                out = rng.choice(
                    [{"accepted": "full"}, {"accepted": "refused"}, {"accepted": "limited", "lost": ["x"]}]
                )
                asked = rng.choice([[], ["notification"], ["authorisation"]])
                test = {"part": name, "donor": {"source": "same-model"}, "asked": asked} | out
                tree.setdefault("swap_tests", {})[f"t-{name}"] = test
    for swing in tree["swings"].values():
        swing["lift"]["behind"] = swing["lift"]["behind"][:1]
    for joint in tree["joints"].values():
        joint["reuse"] = rng.choice(REUSES)
    for tool in tree["tools"].values():
        tool["class"] = rng.choice(CLASSES)
    tree["supply"] = {
        "spare_parts": {"public": rng.choice([["battery"], ["display-assembly"], "all", None]), "professional": "all"},
        "repair_information": {"public": rng.choice(["free", "fee", None]), "professional": "free"},
    }
    if rng.random() < 0.7:
        tree["supply"]["updates"] = {"years": rng.randint(3, 7)}
    return Record.model_validate(tree)


def choices(record: Record, names: list[str]) -> list[Change]:
    """The catalogue of all changes to a settled record."""
    stand = Stand(record, names)
    return catalogue(record, stand.events(), names) + offers(record, RULES, DAY)


def ends(record: Record) -> tuple[object, object]:
    """Ends of the index, computed as `unfasten index` does."""
    found = assess_record(record, DAY).points
    assert found is not None
    return found.low, found.high


def gain(before: Record, after: Record) -> tuple[object, object]:
    (low, high), (new_low, new_high) = ends(before), ends(after)
    return new_low - low, new_high - high  # type: ignore[operator]


@pytest.mark.parametrize("seed", range(12))
def test_no_change_changes_nothing_and_before_is_the_index(seed: int) -> None:
    record = made(seed)
    copy = record.model_copy(deep=True)
    answer = what_if(record, [], DAY)
    assert answer.before.as_json() == answer.after.as_json()
    assert answer.effects() == ()
    judged = assess_record(record, DAY)
    assert answer.before.assessment.points == judged.points
    for name, reach in solve(record, priority_parts(record)).items():
        assert (answer.before.reaches[name].low, answer.before.reaches[name].high) == (reach.low, reach.high)
    assert record == copy


@pytest.mark.parametrize("seed", [*range(100, 115), 4029])
def test_every_change_is_evaluated_as_a_file_with_it_would_be(seed: int) -> None:
    """The quick copy equals the checked one, and the routes are those of a search from nothing."""
    record = settled(made(seed))
    copy = record.model_copy(deep=True)
    names = priority_parts(record)
    stand = Stand(record, names)
    for change in choices(record, names):
        reading = read_changed(record, [change.text])
        assert reading.findings == (), change.text
        assert reading.record == changed(record, [change.edit]), change.text
        trial = Trial(stand, [change])
        trial.settle_all()
        assert dict(trial.reaches()) == solve(reading.record, names), (seed, change.text)
    assert record == copy


@pytest.mark.parametrize("seed", range(200, 212))
def test_the_best_changes_are_the_best_of_all(seed: int) -> None:
    record = made(seed)
    base = settled(record)
    every = choices(base, priority_parts(base))
    keys = [(gain(base, changed(base, [change.edit])), change.text) for change in every]
    wanted = sorted((key for key in keys if key[0] > (0, 0)), key=lambda key: key[0], reverse=True)
    found = best_changes(record, DAY, limit=8)
    assert [(single.key, single.changes[0].text) for single in found.singles] == wanted[:8]


@pytest.mark.parametrize("seed", range(300, 303))
def test_the_best_pair_is_the_best_of_all_pairs(seed: int) -> None:
    record = made(seed, 2, 2)
    base = settled(record)
    every = choices(base, priority_parts(base))
    alone = {change.text: gain(base, changed(base, [change.edit])) for change in every}
    best: tuple[object, object] = (0, 0)
    for one, two in combinations(every, 2):
        if one.edit.path == two.edit.path and not one.edit.op == two.edit.op != "=":
            continue
        try:
            both = gain(base, changed(base, [one.edit, two.edit]))
        except EditError:
            continue
        if both > max(alone[one.text], alone[two.text]):
            best = max(best, both)  # type: ignore[type-var]
    found = best_changes(record, DAY, pairs=True, limit=1).pairs
    assert (found[0].key if found else (0, 0)) == best


@pytest.mark.parametrize("seed", range(400, 412))
def test_the_fewest_steps_to_one_part(seed: int) -> None:
    record = made(seed)
    base = settled(record)
    names = [name for name, part in base.parts.items() if not part.stays]
    for name in names[:2]:
        keys = [depth(solve(base, [name])[name])]
        stand = Stand(base, [name])
        for change in catalogue(base, stand.events(), [name]):
            keys.append(depth(solve(changed(base, [change.edit]), [name])[name]))
        found = best_changes(record, DAY, name, limit=1).singles
        assert (found[0].key if found else keys[0]) == max(keys)


def depth(reach: Reach) -> tuple[float, ...]:
    least = float("-inf")
    steps = [least if value is None else -value for value in (reach.steps_high, reach.steps_low)]
    return (*steps, *(least if route is None else -route.time for route in (reach.high, reach.low)))


@pytest.mark.parametrize("seed", range(500, 515))
def test_uncovering_never_makes_a_route_longer(seed: int) -> None:
    record = settled(made(seed))
    names = [name for name, part in record.parts.items() if not part.stays]
    before = solve(record, names)
    for change in catalogue(record, Stand(record, names).events(), names):
        if change.edit.path[-1] in ("under", "behind"):
            after = solve(changed(record, [change.edit]), names)
            for name in names:
                assert depth(after[name])[:2] >= depth(before[name])[:2], (change.text, name)
