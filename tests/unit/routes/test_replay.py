"""The replay refuses what the model does not allow."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from support.small_record import record
from unfasten.routes.replay import IllegalRouteError, replay
from unfasten.routes.result import Action
from unfasten.routes.solve import solve

WAY = {"tools": ["a"], "time": "2 s", "prepare": [{"do": "heat", "tools": ["b"], "time": "5 s"}], "under": ["cover"]}
MODEL = record(["cover", "cell"], {"jc": ("cover frame", {"time": "1 s"}), "jg": ("cell frame", WAY)})


def route() -> list[Action]:
    found = solve(MODEL, ["cell"])["cell"].low
    assert found is not None
    return list(found.actions)


def test_own_route_is_legal_and_priced() -> None:
    assert replay(MODEL, route(), "cell") == (3, Fraction(10))


@pytest.mark.parametrize("left_out", range(5))
def test_leaving_any_action_out_is_noticed(left_out: int) -> None:
    actions = route()
    del actions[left_out]
    with pytest.raises(IllegalRouteError):
        replay(MODEL, actions, "cell")


def test_doing_something_twice_is_noticed() -> None:
    with pytest.raises(IllegalRouteError, match="already released"):
        replay(MODEL, [route()[0], *route()], "cell")


def test_other_tools_or_times_than_the_record_are_noticed() -> None:
    actions = route()
    actions[0] = replace(actions[0], work=Fraction(0))
    with pytest.raises(IllegalRouteError, match="differ from the record"):
        replay(MODEL, actions, "cell")


def test_another_target_is_noticed() -> None:
    with pytest.raises(IllegalRouteError, match="not lifted alone"):
        replay(MODEL, route()[:2], "cell")


def test_lifting_what_is_held_names_the_joint() -> None:
    with pytest.raises(IllegalRouteError, match="held by jc"):
        replay(MODEL, [route()[1]], "cover")
