"""What each prerequisite costs and what a change would save, on records small enough to see it."""

from __future__ import annotations

from typing import Any

from support.small_record import record
from unfasten.routes.explain import explain
from unfasten.routes.solve import solve

A: dict[str, Any] = {"tools": ["a"]}


def under(*covers: Any, **more: Any) -> dict[str, Any]:
    return {"tools": ["a"], "under": list(covers), **more}


def test_prerequisite_costs_what_leaving_it_in_place_would_save() -> None:
    joints = {
        "lid-screw": ("lid frame", {"tools": ["b"], "time": "7 s"}),
        "brace-screw": ("brace frame", under("lid", time="5 s")),
        "cell-glue": ("cell frame", under("brace", "lid")),
    }
    answer = explain(record(["lid", "brace", "cell"], joints), "cell")
    costs = {one.action.id: (one.steps, float(one.time)) for one in answer.prerequisites}
    assert costs["brace"] == (1, 5.0)
    assert costs["lid"] == (1, 8.0)
    why = {one.action.id: [(r.what, r.how) for r in one.reasons] for one in answer.prerequisites}
    assert why["brace"] == [("cell-glue", "listed")]
    assert why["lid"] == [("brace-screw", "listed"), ("cell-glue", "listed")]


def test_alternative_loses_by_the_difference_of_two_routes() -> None:
    joints = {"j1": ("near frame", A), "j2": ("far frame", under("extra")), "j3": ("extra frame", A),
              "jc": ("cell frame", under(["near", "far"]))}  # fmt: skip
    answer = explain(record(["near", "far", "extra", "cell"], joints), "cell")
    best = answer.alternatives[0]
    assert (best.without.do, best.without.id) == ("lift", "near")
    assert best.route is not None
    assert best.steps == 1
    assert [a.id for a in best.route.actions if a.do == "lift"] == ["extra", "far", "cell"]


def test_single_choice_has_no_alternative() -> None:
    answer = explain(record(["lid", "cell"], {"j": ("lid frame", A), "k": ("cell frame", under("lid"))}), "cell")
    assert [one.route for one in answer.alternatives] == [None]


def test_access_hole_and_way_by_hand() -> None:
    heat = [{"do": "heat", "tools": ["c"], "time": "60 s"}]
    joints = {"j": ("lid frame", {"tools": ["b"]}), "k": ("cell frame", under("lid", prepare=heat))}
    answer = explain(record(["lid", "cell"], joints), "cell")
    assert [(one.action.id, one.cover, one.steps) for one in answer.holes] == [("k", ("lid",), 1)]
    assert [(one.action.id, one.steps) for one in answer.by_hand] == [("k", 1), ("j", 0)]


def test_open_cover_is_told_apart_and_only_on_the_high_route() -> None:
    joints = {"js": ("speaker frame", A), "jc": ("cell frame", under(survey="partial"))}
    log = [{"do": "release", "joint": "js"}, {"do": "lift", "part": "speaker"}, {"do": "release", "joint": "jc"}]
    model = record(["speaker", "cell"], joints, log=log)
    answer = explain(model, "cell")
    assert answer.world == "high"
    assert [r.how for one in answer.prerequisites for r in one.reasons] == ["open"]
    assert answer.holes[0].steps == 1


def test_unreachable_part_explains_only_its_reason() -> None:
    answer = explain(record(["x"], {"j": ("x frame", under("x"))}), "x")
    assert answer.route is None
    assert answer.reach.reason
    assert answer.prerequisites == ()


def test_several_targets_at_once_share_what_they_need() -> None:
    from unfasten.routes.solve import solve_together

    joints = {"j": ("lid frame", A), "k": ("one frame", under("lid")), "m": ("two frame", under("lid"))}
    model = record(["lid", "one", "two"], joints)
    together = solve_together(model, ["one", "two"])
    assert together.steps_high == 3
    assert [solve(model)[part].steps_high for part in ("one", "two")] == [2, 2]
