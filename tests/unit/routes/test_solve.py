"""Routes on records small enough to check by hand, one rule of the model each."""

from __future__ import annotations

from typing import Any

import pytest

from support.small_record import record
from unfasten.record.record import Record
from unfasten.routes.result import Reach
from unfasten.routes.solve import solve

A: dict[str, Any] = {"tools": ["a"]}


def under(*covers: Any, **more: Any) -> dict[str, Any]:
    return {"tools": ["a"], "under": list(covers), **more}


def steps(model: Record, target: str) -> tuple[int | None, int | None]:
    reach = solve(model, [target])[target]
    return reach.steps_low, reach.steps_high


def did(reach: Reach) -> list[str]:
    route = reach.high or reach.low
    return [f"{a.do} {a.id}" for a in route.actions] if route else []


def test_chain_of_covers_is_as_long_as_it_is() -> None:
    names = [f"p{i}" for i in range(12)]
    joints = {f"j{i}": (f"{n} frame", under(*names[max(0, i - 1) : i])) for i, n in enumerate(names)}
    for number, reach in enumerate(solve(record(names, joints)).values(), 1):
        assert (reach.steps_low, reach.steps_high) == (number, number)


def test_star_is_one_step_to_each_arm_and_all_to_the_centre() -> None:
    arms = [f"arm{i}" for i in range(8)]
    joints = {f"j-{arm}": (f"{arm} frame", A) for arm in arms} | {"j-hub": ("hub frame", under(*arms))}
    answer = solve(record([*arms, "hub"], joints))
    assert {answer[arm].steps_low for arm in arms} == {1}
    assert answer["hub"].steps_low == 9


def test_layers_with_one_tool_each_count_a_step_a_part() -> None:
    layers = [[f"l{i}p{k}" for k in range(3)] for i in range(4)]
    joints = {
        f"j-{name}": (f"{name} frame", under(*(layers[i - 1] if i else [])))
        for i, layer in enumerate(layers)
        for name in layer
    }
    answer = solve(record([n for layer in layers for n in layer], joints))
    assert [answer[f"l{i}p0"].steps_low for i in range(4)] == [1, 4, 7, 10]


def test_bundle_spares_the_joints_inside_and_is_taken_apart_afterwards() -> None:
    joints = {
        "outer": ("x frame", A),
        "inner": ("x y", under("z")),
        "z-screw": ("z frame", {"tools": ["b"]}),
    }
    model = record(["x", "y", "z"], joints, bundles={"xy": {"parts": ["x", "y"]}})
    reach = solve(model, ["y"])["y"]
    assert did(reach) == ["release outer", "lift xy", "release inner", "lift y"]
    assert reach.steps_low == 2


def test_parts_of_a_bundle_still_cover_one_another_after_it_is_out() -> None:
    joints = {"outer": ("x frame", A), "inner": ("x y", under("w")), "w-clip": ("w x", under("frame"))}
    model = record(["x", "y", "w"], joints, bundles={"xyw": {"parts": ["x", "y", "w"]}})
    assert did(solve(model, ["y"])["y"]) == [
        "release outer", "lift xyw", "release w-clip", "lift w", "release inner", "lift y",
    ]  # fmt: skip


def test_swing_clears_what_its_part_covers_but_for_what_it_still_covers() -> None:
    joints = {
        "edge": ("cover frame", A),
        "cable": ("cover frame", {"tools": ["b"], "under": ["shield"]}),
        "shield-clip": ("shield frame", under("cover")),
        "cell-glue": ("cell frame", under("cover")),
    }
    swings = {"open": {"part": "cover", "keeps": ["cable"], "still_covers": ["cell-glue"]}}
    model = record(["cover", "shield", "cell"], joints, swings=swings)
    assert did(solve(model, ["shield"])["shield"]) == [
        "release edge",
        "swing open",
        "release shield-clip",
        "lift shield",
    ]
    assert steps(model, "shield") == (2, 2)
    assert "lift cover" in did(solve(model, ["cell"])["cell"])


def test_any_of_takes_the_cheaper_cover() -> None:
    joints = {
        "j1": ("cheap frame", A),
        "j2": ("dear frame", {"tools": ["a", "b"], "time": "9 s"}),
        "j3": ("cell frame", under(["dear", "cheap"])),
    }
    assert did(solve(record(["cheap", "dear", "cell"], joints), ["cell"])["cell"])[1] == "lift cheap"


def test_steps_and_time_may_choose_different_ways() -> None:
    quick = {"tools": ["a", "b"], "time": "1 s"}
    slow = {"tools": ["c"], "time": "60 s"}
    model = record(["x"], {"j": ("x frame", quick, slow)})
    by_steps, by_time = (solve(model, by=by)["x"].low for by in ("steps", "time"))
    assert by_steps is not None
    assert by_time is not None
    assert (by_steps.steps, by_steps.time) == (1, 61)
    assert (by_time.steps, by_time.time) == (2, 3)


def test_pairing_adds_five_steps_each() -> None:
    parts = {"x": {"pairing": ["notification", "authorisation"]}, "y": {"pairing": ["notification"]}}
    model = record(parts, {"j": ("x frame", A), "k": ("y frame", under("x"))})
    assert steps(model, "x") == (11, 11)
    assert steps(model, "y") == (7, 7)


def test_each_multiplies_the_way_but_not_its_preparation() -> None:
    way = {"tools": ["a"], "time": "2 s each", "prepare": [{"do": "heat", "time": "30 s"}]}
    model = record(["x"], {"j": {"holds": ["x", "frame"], "count": 4, "ways": [way]}})
    route = solve(model)["x"].low
    assert route is not None
    assert route.time == 30 + 8 + 1


def test_special_tools_break_ties_before_names() -> None:
    tools = {"z": {"name": "Z", "class": "commercial"}}
    model = record(["x"], {"j": ("x frame", {"tools": ["z"]}, {"tools": ["a"]})}, tools=tools)
    route = solve(model)["x"].low
    assert route is not None
    assert route.actions[0].way == 1


def test_partial_survey_gives_low_and_high() -> None:
    joints = {"js": ("speaker frame", A), "jc": ("cell frame", under(survey="partial"))}
    log = [{"do": "release", "joint": "js"}, {"do": "lift", "part": "speaker"}, {"do": "release", "joint": "jc"}]
    model = record(["speaker", "cell"], joints, log=log)
    assert steps(model, "cell") == (1, 2)
    found = [*log, {"do": "found", "joint": "jc", "clear_of": ["speaker"]}]
    assert steps(record(["speaker", "cell"], joints, log=found), "cell") == (1, 1)
    found = [*log, {"do": "found", "joint": "jc", "under": ["speaker"]}]
    assert steps(record(["speaker", "cell"], joints, log=found), "cell") == (2, 2)


def test_what_the_log_never_reached_has_no_unknown_covers() -> None:
    joints = {"js": ("speaker frame", A), "jc": ("cell frame", under(survey="partial"))}
    log = [{"do": "lift", "part": "speaker"}]
    assert steps(record(["speaker", "cell"], joints, log=log), "cell") == (1, 1)


def test_unknown_cover_that_makes_high_unreachable_is_told() -> None:
    joints = {"js": ("speaker frame", under("cell")), "jc": ("cell frame", under(survey="partial"))}
    log = [{"do": "lift", "part": "speaker"}, {"do": "release", "joint": "jc"}]
    reach = solve(record(["speaker", "cell"], joints, log=log), ["cell"])["cell"]
    assert (reach.steps_low, reach.high) == (1, None)
    assert reach.reason is not None
    assert reach.reason.startswith("if every unknown cover is real")


@pytest.mark.parametrize("target", ["x", "y"])
def test_covers_that_hold_each_other_are_named(target: str) -> None:
    model = record(["x", "y"], {"jx": ("x frame", under("y")), "jy": ("y frame", under("x"))})
    reach = solve(model, [target])[target]
    assert reach.low is None
    assert reach.reason is not None
    assert "jx" in reach.reason
    assert "jy" in reach.reason
    assert "hold each other" in reach.reason


def test_joint_under_what_it_holds_cannot_be_released() -> None:
    reach = solve(record(["x"], {"jx": ("x frame", under("x"))}))["x"]
    assert reach.low is None
    assert reach.reason is not None
    assert "jx, which cannot be released" in reach.reason


def test_bundles_that_rule_each_other_out_leave_no_route() -> None:
    joints = {"j": ("t frame", under("a1", "b1"))}
    held = {"h": ("a1 b1 c1", under("frame"))}
    bundles = {"one": {"parts": ["a1", "c1"]}, "two": {"parts": ["b1", "c1"]}}
    reach = solve(record(["a1", "b1", "c1", "t"], joints | held, bundles=bundles), ["t"])["t"]
    assert reach.low is None
    assert reach.reason


def test_without_budget_the_route_carries_a_bound() -> None:
    names = [f"p{i}" for i in range(6)]
    joints = {f"j{i}": (f"{n} frame", {"tools": ["abc"[i % 3]]}) for i, n in enumerate(names)}
    joints["jt"] = ("t frame", under(*names))
    route = solve(record([*names, "t"], joints), ["t"], budget_s=1e-9)["t"].low
    best = solve(record([*names, "t"], joints), ["t"])["t"].low
    assert route is not None
    assert best is not None
    assert not route.proven
    assert best.proven
    assert route.bound <= best.steps <= route.steps
