"""The battery's answer for the doors: cautions in order, the stop, the counterpart in the other record."""

from __future__ import annotations

import json
from datetime import date
from typing import Any

import pytest

from support.small_record import record
from unfasten.evidence.errors import CallError
from unfasten.record.record import Record
from unfasten.service.battery import battery_answers, battery_cares
from unfasten.service.cautions import cares

DAY = date(2026, 6, 1)
HEAT = [{"do": "heat", "tools": ["b"], "time": "60 s"}]


def product(name: str = "cell", product_id: str = "small", **battery: Any) -> Record:
    return record(
        {"cover": {}, name: {"role": "battery", "battery": battery}},
        {
            "rim": {"holds": ["cover", "frame"], "kind": "adhesive", "ways": [{"tools": ["a"], "prepare": HEAT}]},
            "plug": {"holds": [name, "frame"], "kind": "connector", "ways": [{"under": ["cover"]}]},
        },
        product={"id": product_id},
    )


def test_heat_on_the_shortest_route_is_a_reason() -> None:
    (answer,) = battery_answers(product(condition="sound"), DAY)
    because = [r.because for c in answer.cautions if c.care.id == "heat-near-cell" for r in c.reasons]
    assert because == ["heat near the cell: rim, way 0"]


@pytest.mark.parametrize("condition", ["swollen", "damaged"])
def test_a_stop_comes_first(condition: str) -> None:
    (answer,) = battery_answers(product(condition=condition, enclosure="soft", heated_to="70 °C"), DAY)
    assert answer.stop is not None
    # no word on prying, heating or cooling down beside a stop
    assert [caution.care.id for caution in answer.cautions] == [f"{condition}-battery", "lithium-fumes"]
    assert answer.as_json()["stop"] == {"title": "STOP", "text": answer.stop.text}


def test_every_caution_has_a_source_and_an_id_of_its_own() -> None:
    every = battery_cares()
    assert len({care.id for care in every}) == len(every)
    for care in every[len(cares()) :]:
        assert "usual practice" in care.source or "[A]" in care.source, care.id
        assert care.text.strip()


def test_an_empty_battery_knows_nothing_and_says_what_to_look_at() -> None:
    (answer,) = battery_answers(record({"cell": {"role": "battery"}}, {}), DAY)
    for fact in answer.sheet.facts:
        assert fact.value is None, fact.id
        assert fact.look, fact.id
    wanted = {
        "road-package",
        "damaged",
        "road-energy",
        "road-mark",
        "road-test",
        "air-alone",
        "air-packed",
        "air-installed",
    }
    assert {ruling.id for ruling in answer.sheet.transport if ruling.verdict == "unknown"} == wanted
    json.dumps(answer.as_json(), allow_nan=False)


def test_the_predecessor_is_found_by_id_or_as_the_only_one() -> None:
    new = product("cell", mass="80 ± 0.1 g")
    (answer,) = battery_answers(new, DAY, product("pack", "older", mass="70 ± 0.1 g"))
    change = next(change for change in answer.changes if change.id == "mass")
    assert (answer.against, change.difference, change.sure) == ("older", 10.0, True)


def test_the_wrong_predecessor_is_told() -> None:
    new = record({"cell": {"role": "battery"}}, {}, product={"id": "new", "predecessor": "older"})
    (answer,) = battery_answers(new, DAY, product(product_id="other"))
    assert "the record names older as its predecessor; here it is compared with other" in answer.remarks


def test_no_battery_and_several_are_errors_with_a_remedy() -> None:
    bare = record(["cover"], {})
    with pytest.raises(CallError) as caught:
        battery_answers(bare, DAY)
    assert caught.value.code == "pack.none"
    with pytest.raises(CallError) as caught:
        battery_answers(product(), DAY, bare)
    assert caught.value.code == "pack.none"
    two = record({"one": {"role": "battery"}, "two": {"role": "battery"}}, {})
    assert [answer.sheet.part for answer in battery_answers(two, DAY)] == ["one", "two"]
    with pytest.raises(CallError) as caught:
        battery_answers(product(), DAY, two)
    assert caught.value.code == "pack.several"
