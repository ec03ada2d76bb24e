"""Pools: every two of a group fit, and there are no fewer groups."""

from __future__ import annotations

import random
from itertools import combinations

import pytest

from unfasten.compare.pooling import groups


def test_interchange_is_not_passed_on() -> None:
    assert groups("abc", lambda a, b: {a, b} != {"a", "c"}) == (("a", "b"), ("c",))


def test_one_way_is_not_enough() -> None:
    assert groups("ab", lambda place, donor: (place, donor) == ("a", "b")) == (("a",), ("b",))


def test_nothing_has_no_groups() -> None:
    assert groups("", lambda a, b: True) == ()


def test_too_many_are_refused() -> None:
    with pytest.raises(ValueError, match="at most 12"):
        groups(range(13), lambda a, b: True)


@pytest.mark.parametrize("seed", range(12))
def test_the_groups_are_cliques_and_the_fewest(seed: int) -> None:
    rng = random.Random(seed)
    count = rng.randint(2, 6)
    near = {frozenset(pair) for pair in combinations(range(count), 2) if rng.random() < 0.6}
    found = groups(range(count), lambda a, b: frozenset((a, b)) in near)
    assert sorted(item for group in found for item in group) == list(range(count))
    assert all(frozenset(pair) in near for group in found for pair in combinations(group, 2))
    assert len(found) == least(count, near)


def least(count: int, near: set[frozenset[int]]) -> int:
    """The fewest cliques by trying every way to put each item into a group."""

    def place(item: int, made: list[list[int]]) -> int:
        if item == count:
            return len(made)
        options = [place(item + 1, [*made, [item]])]
        for index, group in enumerate(made):
            if all(frozenset((item, other)) in near for other in group):
                options.append(place(item + 1, [*made[:index], [*group, item], *made[index + 1 :]]))
        return min(options)

    return place(0, [])
