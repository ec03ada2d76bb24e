"""Assessing a record: solver's routes become the facts of the rules, down to places in the record."""

from __future__ import annotations

from datetime import date
from fractions import Fraction
from typing import Any

import pytest

from unfasten.evidence.errors import CallError
from unfasten.record.record import Record
from unfasten.routes.result import Action, Additions, Reach, Route
from unfasten.service.assess import assess, assess_record, product_of

DAY = date(2026, 6, 1)

TREE: dict[str, Any] = {
    "format": "unfasten-record/1",
    "product": {"id": "tarn-9", "name": "Tarn 9", "maker": "Fellwright", "category": "slate-tablet"},
    "tools": {"pick": {"name": "Pick", "class": "basic"}, "pad": {"name": "Pad", "class": "commercial"}},
    "parts": {
        "frame": {"name": "Frame", "stays": True},
        "cover": {"name": "Cover", "role": "back-cover"},
        "shield": {"name": "Shield"},
        "cell": {"name": "Battery", "role": "battery", "pairing": ["notification"]},
        "flash": {"name": "Flash board", "role": "other"},
    },
    "joints": {
        "cover-clips": {
            "kind": "clip",
            "holds": ["cover", "frame"],
            "reuse": "reusable",
            "ways": [{"tools": ["pick"]}],
        },
        "shield-clips": {"kind": "clip", "holds": ["shield", "frame"], "reuse": "reusable", "ways": [{}]},
        "cell-glue": {
            "kind": "adhesive",
            "holds": ["cell", "frame"],
            "ways": [
                {
                    "tools": ["pick"],
                    "prepare": [{"do": "heat", "tools": ["pad"]}],
                    "under": ["cover"],
                    "survey": "partial",
                }
            ],
        },
    },
    "log": [
        {"do": "release", "joint": "cover-clips"},
        {"do": "lift", "part": "cover"},
        {"do": "release", "joint": "shield-clips"},
        {"do": "lift", "part": "shield"},
        {"do": "release", "joint": "cell-glue"},
    ],
}


def tree(**more: Any) -> Record:
    return Record.model_validate(TREE | more)


def test_solved_routes_give_the_index_and_what_is_open() -> None:
    found: dict[str, Any] = assess_record(tree(), DAY).as_json()
    # cover: 1 run with its lift; heat, release with the lift; + 5 for the notification; the shield adds 1
    assert found["parts"]["battery"]["steps"] == {"low": 8, "high": 9}
    assert found["parts"]["battery"]["S_DD"] == {"low": "3.00", "high": "3.00"}
    assert found["parts"]["battery"]["S_F"] == {"low": "1.00", "high": "5.00"}
    assert found["parts"]["battery"]["S_T"] == {"low": "1.00", "high": "1.00"}
    assert found["parts"]["back-cover"]["steps"] == {"low": 1, "high": 1}
    where = [item["where"] for item in found["open"]]
    assert "joints.cell-glue.reuse" in where
    assert "joints.cell-glue.ways[0]" not in where  # the shield cannot change a point


def test_an_answer_in_the_log_is_used() -> None:
    found = {"do": "found", "joint": "cell-glue", "clear_of": ["shield"]}
    parts: Any = assess_record(tree(log=[*TREE["log"], found]), DAY).as_json()["parts"]
    assert parts["battery"]["steps"] == {"low": 8, "high": 8}


def test_facts_carry_what_the_record_says() -> None:
    actions = (
        Action("prepare", joint="cell-glue", way=0, what="heat", tools=("pad",)),
        Action("release", joint="cell-glue", way=0, tools=("pick",)),
        Action("lift", part="cell"),
    )
    route = Route("cell", actions, 2, Fraction(0), proven=False, bound=Fraction(3, 2))
    product = product_of(tree(), {"cell": Reach("cell", route, None, Additions(5, 5), "shut in")})
    cover, cell = product.pieces
    assert (cover.id, cover.low, cover.reason) == ("cover", None, "no route was searched")
    assert cell.low is not None
    assert (cell.low.steps, cell.low.bound, cell.high, cell.pairing.low, cell.reason) == (7, 7, None, 5, "shut in")
    (undoing,) = cell.low.undoings
    assert (undoing.tools, undoing.prepared_with, undoing.reuse, undoing.unknown, undoing.at) == (
        ("pick",),
        ("pad",),
        None,
        ("shield",),
        "joints.cell-glue.ways[0]",
    )
    assert [(taking.key, taking.parts) for taking in cell.low.takings] == [(("part", "cell"), ("cell",))]
    assert product.tools == {"pick": "basic", "pad": "commercial"}


def test_a_bound_that_is_no_whole_step_is_rounded_up() -> None:
    route = Route("cell", (), 4, Fraction(0), proven=False, bound=Fraction(5, 2))
    (_, cell) = product_of(tree(), {"cell": Reach("cell", route, route)}).pieces
    assert cell.low is not None
    assert cell.low.bound == 3


def test_bundles_and_swings_are_takings_with_their_own_places() -> None:
    record = tree(
        bundles={"stack": {"parts": ["cell", "flash"], "lift": {"tools": ["pick"]}}},
        swings={"cover-open": {"part": "cover"}},
    )
    actions = (Action("swing", swing="cover-open"), Action("lift", bundle="stack", tools=("pick",)))
    route = Route("cell", actions, 2, Fraction(0), proven=True, bound=Fraction(2))
    cell = product_of(record, {"cell": Reach("cell", route, route)}).pieces[1]
    assert cell.low is not None
    assert [(t.at, t.parts, t.tools) for t in cell.low.takings] == [
        ("swings.cover-open.lift", (), ()),
        ("bundles.stack.lift", ("cell", "flash"), ("pick",)),
    ]
    assert cell.low.lifted() == {"cell", "flash"}


def test_a_priority_part_that_stays_is_open() -> None:
    parts = TREE["parts"] | {"frame": {"name": "Frame", "stays": True, "role": "display-assembly"}}
    found = assess_record(tree(parts=parts), DAY)
    assert "no route to Frame: it is the part that stays" in [item.what for item in found.open]


def test_rules_that_do_not_apply_need_no_route(monkeypatch: pytest.MonkeyPatch) -> None:
    def never(*_: object, **__: object) -> None:
        raise AssertionError("a route was searched")

    monkeypatch.setattr("unfasten.routes.solve.solve", never)
    kettle = tree(product=TREE["product"] | {"category": "other"})
    assert not assess_record(kettle, DAY).applies
    assert not assess_record(tree(), date(2025, 6, 19)).applies
    with pytest.raises(CallError, match='no rule set "eu-2023-1668"; did you mean "eu-2023-1669"'):
        assess_record(tree(), DAY, "eu-2023-1668")


def test_two_equal_calls_give_equal_answers() -> None:
    assert assess_record(tree(), DAY).as_json() == assess_record(tree(), DAY).as_json()
    assert assess(tree(), {}, DAY).applies
