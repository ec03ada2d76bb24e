"""Routes shared by worlds: searched once where all that can matter is equal, and anew where it is not."""

from __future__ import annotations

from typing import Any

from support.small_record import record
from unfasten.record.record import Record
from unfasten.routes.sharing import Sharing
from unfasten.routes.world import World


def made(lid_time: str, other_time: str) -> Record:
    joints: dict[str, Any] = {
        "j": ("lid frame", {"tools": ["a"], "time": lid_time}),
        "k": ("cell frame", {"tools": ["a"], "under": ["lid"]}),
        "m": ("other frame", {"tools": ["b"], "time": other_time}),
    }
    return record(["lid", "cell", "other"], joints)


def test_what_cannot_matter_to_a_part_does_not_part_its_routes() -> None:
    sharing = Sharing()
    worlds = [World(made("5 s", time)) for time in ("1 s", "9 s")]
    routes = [sharing.route(world, sharing.numbers(world.problem), "cell") for world in worlds]
    assert routes[0] is routes[1]
    assert len(sharing.known) == 1


def test_what_can_matter_does() -> None:
    sharing = Sharing()
    worlds = [World(made(time, "1 s")) for time in ("5 s", "6 s")]
    first, second = (sharing.route(world, sharing.numbers(world.problem), "cell") for world in worlds)
    assert first is not None
    assert second is not None
    assert second.time - first.time == 1
    assert len(sharing.known) == 2


def test_no_route_stays_no_route() -> None:
    joints: dict[str, Any] = {"j": ("lid frame", {"under": ["cell"]}), "k": ("cell frame", {"under": ["lid"]})}
    world = World(record(["lid", "cell"], joints))
    sharing = Sharing()
    assert sharing.route(world, sharing.numbers(world.problem), "cell") is None
