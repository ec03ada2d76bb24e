"""What an excerpt is known by: everything that can matter to its target, and nothing else."""

from __future__ import annotations

from typing import Any

from support.small_record import record
from unfasten.record.record import Record
from unfasten.routes.excerpt import Contents, Key, key
from unfasten.routes.world import World


def built(**joints: Any) -> Record:
    """Two loose parts x and y under z; `joints` are added or replaced."""
    before = {"j-x": ("x frame", {"tools": ["a"], "under": ["z"]}), "j-y": ("y frame", {"tools": ["a"]})}
    return record(["x", "y", "z"], {**before, **joints})


def key_of(model: Record, target: str, contents: Contents) -> Key:
    world = World(model)
    return key(world.problem, contents.of(world.problem), world.closure(target), (world.problem.target[target],))


def test_what_cannot_matter_does_not_show() -> None:
    contents = Contents()
    plain = key_of(built(), "x", contents)
    assert key_of(built(**{"j-y": ("y frame", {"tools": ["b"], "time": "9 s"})}), "x", contents) == plain
    assert key_of(built(**{"another": ("y frame", {})}), "x", contents) == plain


def test_whatever_can_matter_shows() -> None:
    contents = Contents()
    keys = [
        key_of(built(), "x", contents),
        key_of(built(), "y", contents),
        key_of(built(**{"j-z": ("z frame", {})}), "x", contents),
        key_of(built(**{"j-x": ("x frame", {"tools": ["b"], "under": ["z"]})}), "x", contents),
        key_of(built(**{"j-x": ("x frame", {"tools": ["a"]})}), "x", contents),
        key_of(built(**{"j-x": ("x frame", {"tools": ["a"], "under": ["z"], "side": "front"})}), "x", contents),
    ]
    assert len(set(keys)) == len(keys)


def test_an_excerpt_holds_only_what_matters_numbered_anew() -> None:
    world = World(built())
    assert world.route("y") is not None
    excerpt = world.excerpts[(world.problem.target["y"],)]
    assert excerpt is not None
    assert [event.id for event in excerpt.problem.events] == ["y", "j-y"]
    assert excerpt.goals == (0,)
    assert excerpt.problem.tools == ("a",)
