"""Which routes an edit makes the keeper search again."""

from __future__ import annotations

import pytest

from support.small_record import record
from unfasten.record.record import Record
from unfasten.routes import keep
from unfasten.routes.keep import Keeper
from unfasten.routes.solve import solve_both


def stack(**under: list[str]) -> Record:
    """A chain x over y over z, and a loose part w; `under` changes what a joint lies under."""
    covers = {"j-x": [], "j-y": ["x"], "j-z": ["y"], "j-w": []} | {f"j-{name}": c for name, c in under.items()}
    return record(
        ["x", "y", "z", "w"],
        {joint: (f"{joint[2:]} frame", {"tools": ["a"], "under": covers[joint]}) for joint in covers},
    )


def test_only_parts_that_the_edit_can_touch_are_searched() -> None:
    keeper = Keeper()
    keeper.update(stack())
    assert keeper.searched == ("x", "y", "z", "w")
    reaches = keeper.update(stack(y=[]))
    assert keeper.searched == ("y", "z")
    assert (reaches["steps"]["y"].steps_high, reaches["steps"]["z"].steps_high) == (1, 2)


def test_an_edit_taken_back_needs_no_search() -> None:
    keeper = Keeper()
    first = keeper.update(stack())
    keeper.update(stack(w=["z"]))
    assert keeper.searched == ("w",)
    assert keeper.update(stack()) == first
    assert keeper.searched == ()


def test_a_part_that_becomes_unreachable_says_why() -> None:
    keeper = Keeper()
    keeper.update(stack())
    reach = keeper.update(stack(x=["y"]))["time"]["z"]
    assert reach.low is None
    assert reach.reason is not None
    assert "hold each other" in reach.reason


def test_forgetting_keeps_the_answers_right(monkeypatch: pytest.MonkeyPatch) -> None:
    small = 2
    monkeypatch.setattr(keep, "MOST", small)
    keeper = Keeper()
    for model in (stack(), stack(y=[]), stack()):
        assert keeper.update(model) == solve_both(model)
        assert len(keeper.known) <= small
