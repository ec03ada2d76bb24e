"""Steps and time, sentence by sentence of the counting rules."""

from __future__ import annotations

from fractions import Fraction

import pytest

from support.small_record import record
from unfasten.routes.cost import cost, tally
from unfasten.routes.result import Action

ANY = record([], {"j": ("frame frame",)})


def rel(tools: str = "", side: str = "any", work: int = 0) -> Action:
    return Action("release", joint="j", way=0, tools=tuple(tools), side=side, work=Fraction(work))


def prep(tools: str = "", side: str = "any", work: int = 0) -> Action:
    return Action("prepare", joint="j", way=0, what="heat", tools=tuple(tools), side=side, work=Fraction(work))


def lift(tools: str = "", side: str = "any", work: int = 0) -> Action:
    return Action("lift", part="p", tools=tuple(tools), side=side, work=Fraction(work))


def swing() -> Action:
    return Action("swing", swing="s")


@pytest.mark.parametrize(
    ("actions", "steps"),
    [
        pytest.param([lift()], 1, id="a lift without any run counts itself"),
        pytest.param([rel(), rel(), lift()], 1, id="bare-hand releases make no run"),
        pytest.param([rel("a"), lift()], 1, id="the lift belongs to the last run"),
        pytest.param([rel("a"), rel("a"), lift()], 1, id="the same tool set is one run"),
        pytest.param([rel("a"), rel(), rel("a"), lift()], 1, id="bare hand joins the run it stands in"),
        pytest.param([rel("a"), rel("b"), rel("a"), lift()], 3, id="every change of tool is a run"),
        pytest.param([rel("ab"), lift()], 2, id="two tools at once count two"),
        pytest.param([rel("ab"), rel("ba"), lift()], 2, id="a tool set has no order"),
        pytest.param([rel("ab"), rel("a"), lift()], 3, id="a smaller set is another set"),
        pytest.param([rel("a"), lift(), rel("a"), lift()], 2, id="a lift ends the run"),
        pytest.param([rel("a"), swing(), lift()], 2, id="a swing ends a stretch"),
        pytest.param([prep("a"), rel("a"), lift()], 2, id="a preparation is a run of its own"),
        pytest.param([rel("a"), prep("b"), rel("a"), lift()], 3, id="a preparation cuts a run"),
        pytest.param([prep(), rel(), lift()], 2, id="after a preparation the lift counts itself"),
        pytest.param([prep("ab"), rel("a"), lift()], 3, id="a preparation with two tools counts two"),
        pytest.param([prep("a"), prep("a"), rel("a"), lift()], 3, id="every preparation counts"),
        pytest.param([lift("a")], 1, id="a lift with a tool is a release before it"),
        pytest.param([rel("a"), lift("a")], 1, id="a lift with the tool in hand joins the run"),
        pytest.param([rel("a"), lift("b")], 2, id="a lift with another tool is another run"),
        pytest.param([prep("a"), rel(), lift("b")], 2, id="a lift's own run comes after the preparation"),
    ],
)
def test_steps(actions: list[Action], steps: int) -> None:
    assert cost(ANY, actions)[0] == steps


@pytest.mark.parametrize(
    ("actions", "seconds"),
    [
        pytest.param([rel("a", work=5), lift(work=2)], 8, id="the first tool is picked up too"),
        pytest.param([rel("a"), rel(), rel("a")], 1, id="bare hand keeps what is in hand"),
        pytest.param([rel("ab"), rel("a"), rel("b")], 3, id="what is not in the set is put down"),
        pytest.param([rel("a"), prep(), rel("a")], 1, id="a preparation without tools leaves the hand as it is"),
        pytest.param([rel("a"), prep("b"), rel("a")], 3, id="a preparation with a tool does not"),
        pytest.param([rel("a"), lift(), rel("a")], 1, id="a lift by hand keeps the tool"),
        pytest.param([rel(side="back"), lift()], 0, id="the first side is free"),
        pytest.param([rel(side="back"), rel(), rel(side="back")], 0, id="any never turns"),
        pytest.param([rel(side="back"), rel(side="front"), rel(side="back")], 2, id="each change of side turns"),
    ],
)
def test_time(actions: list[Action], seconds: int) -> None:
    assert cost(ANY, actions)[1] == seconds


def test_tally_tells_stretch_and_pick_ups() -> None:
    lines = tally(ANY, [rel("ab", "back"), lift(), rel("a", "front"), lift()])
    assert [line.stretch for line in lines] == [1, 1, 2, 2]
    assert [line.steps for line in lines] == [2, 2, 3, 3]
    assert [line.picked for line in lines] == [("a", "b"), (), (), ()]
    assert [line.turned for line in lines] == [False, False, True, False]
    assert cost(ANY, []) == (0, 0)
