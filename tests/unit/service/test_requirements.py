"""Requirements of a whole record: what comes out under a limit, swap tests as facts, reasons down to the joint."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest

from support.small_record import record
from unfasten.evidence.errors import CallError
from unfasten.record.record import Record
from unfasten.rules.case import Allowed
from unfasten.rules.verdict import Ruling
from unfasten.service.passage import Passages
from unfasten.service.requirements import label, requirements, rule_sets

DAY, LATER = date(2026, 6, 1), date(2027, 6, 1)
BASIC = frozenset(("basic",))


def tablet(**changes: Any) -> Record:
    """A cover glued over a battery that is screwed: heat with a commercial pad, or a pick by patience."""
    cover = {"kind": "adhesive", "holds": ["cover", "frame"], "reuse": "resupplied", "ways": [
        {"tools": ["a"], "prepare": [{"do": "heat", "tools": ["pad"]}]}, *changes.pop("more_ways", [])]}  # fmt: skip
    cell = {
        "holds": ["cell", "frame"],
        "reuse": changes.pop("reuse", "reusable"),
        "ways": [{"tools": ["a"], "under": ["cover"]}],
    }
    parts = {
        "cover": {"role": "back-cover"},
        "cell": {"name": "Battery", "role": "battery", "mass": "100 g", **changes.pop("cell", {})},
    }
    tools = {"pad": {"name": "Heating pad", "class": "commercial"}, **changes.pop("tools", {})}
    return record(parts, {"glue": cover, "screws": cell}, tools=tools, **changes)


def ruling(of: Record, name: str, rules: str = "eu-2023-1670", on: date = DAY, **readings: str) -> Ruling:
    answer = requirements(of, on, rules, {key.replace("_", "-"): option for key, option in readings.items()})
    return next(found for found in answer.rulings if found.id == name)


def test_a_way_out_that_keeps_to_the_limit_is_found_beside_the_shortest() -> None:
    only = Passages(tablet())("cell", Allowed(BASIC))
    assert (only.certain, only.possible) == (False, False)
    assert only.faults == ("Glue needs Heating pad, a commercially available tool",)
    both = Passages(tablet(more_ways=[{"tools": ["b"]}]))("cell", Allowed(BASIC))
    assert (both.certain, both.possible, both.faults, both.look) == (True, True, (), ())


def test_heat_fails_where_it_is_not_allowed_whatever_the_tool() -> None:
    found = ruling(tablet(), "removable", "eu-2023-1542-11", LATER)
    assert found.verdict == "not met"
    assert found.children[0].reasons == ("Glue needs heat",)
    assert ruling(tablet(more_ways=[{"tools": ["b"]}]), "removable", "eu-2023-1542-11", LATER).verdict == "met"


def test_what_is_not_known_of_a_joint_or_tool_is_asked_for() -> None:
    way = [{"tools": ["c"]}]
    made = tablet(more_ways=way, reuse=None, tools={"c": {"name": "Blade"}})
    passage = Passages(made)("cell", Allowed(BASIC, frozenset(("reusable", "resupplied"))))
    assert (passage.certain, passage.possible) == (False, True)
    assert {(look.where, look.about) for look in passage.look} == {
        ("tools.c.class", "Blade"),
        ("joints.screws.reuse", "Screws"),
    }


def test_an_unknown_cover_is_asked_for_only_if_it_matters() -> None:
    ways = [{"tools": ["a"], "survey": "partial", "under": ["cover"]}]
    joints = {
        "glue": {"holds": ["cover", "frame"], "reuse": "reusable", "ways": [{"tools": ["b"]}]},
        "screws": {"holds": ["cell", "frame"], "reuse": "reusable", "ways": ways},
        "weld": {"kind": "weld", "holds": ["shield", "frame"], "reuse": "none", "ways": [{}]},
    }
    log = [{"do": "lift", "part": part} for part in ("shield", "cover")] + [{"do": "release", "joint": "screws"}]
    made = record(["cover", "cell", "shield"], joints, log=log)
    limit = Allowed(BASIC, frozenset(("reusable",)))
    (look,) = Passages(made)("cell", limit).look
    assert (look.what, look.where) == ("does shield cover Screws?", "joints.screws.ways[0]")
    assert Passages(made)("cell", Allowed(BASIC)).certain


def test_a_part_without_a_way_out_is_open_not_failed() -> None:
    joints = {"j": ("a frame", {"under": ["b"]}), "k": ("b frame", {"under": ["a"]})}
    made = record({"a": {"role": "battery"}, "b": {}}, joints)
    passage = Passages(made)("a", Allowed(BASIC))
    assert (passage.certain, passage.possible) == (False, True)
    assert "no way out" in passage.look[0].what


@pytest.mark.parametrize(
    ("pairing", "swap", "verdict", "says"),
    [
        (None, None, "unknown", "no swap test"),
        (["authorisation"], None, "unknown", "needs remote authorisation"),
        (None, {"accepted": "full"}, "does not apply", "works without pairing"),
        (None, {"accepted": "full", "asked": ["notification"]}, "unknown", "needs remote notification"),
        (["authorisation"], {"accepted": "full"}, "does not apply", "works without pairing"),
        (None, {"accepted": "refused"}, "unknown", "no swap test"),
    ],
)
def test_swap_tests_are_facts_for_pairing(pairing: Any, swap: Any, verdict: str, says: str) -> None:
    more = {} if swap is None else {"swap_tests": {"s1": {"part": "cell", "donor": {"source": "same-model"}, **swap}}}
    found = ruling(tablet(cell={} if pairing is None else {"pairing": pairing}, **more), "pairing")
    cell = next(child for child in found.children if child.id == "cell")
    assert cell.verdict == verdict
    assert says in cell.reasons[0]
    assert [fact.origin for fact in cell.facts] == (
        ["measured"] if swap and says != "no swap test" else ["seen"] if pairing else []
    )


def test_the_cover_is_on_the_list_only_if_it_must_come_off() -> None:
    supply = {"spare_parts": {"public": ["battery"], "professional": "all"}, "common_charger": True}
    assert ruling(tablet(supply=supply), "parts-for-end-users").verdict == "not met"
    swings = {"aside": {"part": "cover", "keeps": [], "lift": {}}}
    assert ruling(tablet(supply=supply, swings=swings), "parts-for-end-users").verdict == "met"


def test_questions_name_the_part_and_come_by_the_number_they_settle() -> None:
    answer = requirements(tablet(), DAY)
    looks = answer.look_at()
    assert [len(ids) for _, ids in looks] == sorted((len(ids) for _, ids in looks), reverse=True)
    asked = {str(look): ids for look, ids in looks}
    assert asked["Battery: by whom can it be replaced?"] == ("disassembly-battery",)
    assert sum(answer.count().values()) == len(answer.rulings)


def test_readings_say_what_another_option_would_change() -> None:
    supply = {"spare_parts": {"public": "all", "professional": []}, "common_charger": True}
    answer = requirements(tablet(supply=supply), DAY)
    (taken,) = [taken for taken in answer.readings if taken.id == "public-serves-professionals"]
    assert taken.effects[0].changes
    assert "parts-for-professionals not met" in taken.effects[0].text
    assert (
        ruling(tablet(supply=supply), "parts-for-professionals", public_serves_professionals="separate").verdict
        == "not met"
    )


def test_rules_that_do_not_apply_give_a_reason_and_no_verdict() -> None:
    answer = requirements(tablet(), DAY, "eu-2023-1542-11")
    assert (answer.applies, answer.rulings) == (False, ())
    assert "2027-02-18" in str(answer.as_json()["reason"])


def test_a_wrong_call_is_refused() -> None:
    with pytest.raises(CallError, match="unfasten index"):
        requirements(tablet(), DAY, "eu-2023-1669")
    with pytest.raises(CallError, match="no reading"):
        requirements(tablet(), DAY, readings={"proces": "any-route"})
    with pytest.raises(CallError, match="unfasten requirements"):
        label(tablet(), DAY, "eu-2023-1670")


def test_the_label_takes_the_figures_of_the_battery() -> None:
    cell = {"battery": {"nominal_voltage": "4 V", "rated_capacity": "2500 mAh"}}
    made = tablet(cell=cell, tests={"endurance": "40 h"})
    (index,) = [one for one in label(made, DAY).measures if one.id == "EEI"]
    assert index.figure is not None
    assert (index.figure.low, index.figure.high) == (4, 4)  # 1000 x 40 / (4 x 2500), below 4.04
    assert str(index.grade) == "E"


def test_the_list_of_rule_sets_holds_the_planned_ones() -> None:
    assert "fr-2020-1757" in [head.id for head in rule_sets()]
