"""Keys of supply, test figures and replacing: what is taken, and what is told about what is not."""

from __future__ import annotations

from typing import Any

import pytest

from unfasten.record.read import Reading, read_tree


def read(**more: Any) -> Reading:
    tree: dict[str, Any] = {
        "format": "unfasten-record/1",
        "product": {"id": "tarn-9", "name": "Tarn 9", "maker": "Fellwright", "category": "slate-tablet"},
        "parts": {"frame": {"name": "Frame", "stays": True}, "tray": {"name": "Tray", **more.pop("tray", {})}},
        "joints": {"latch": {"kind": "clip", "holds": ["tray", "frame"], "ways": [{}]}},
        **more,
    }
    return read_tree(tree)


def test_what_is_left_out_is_not_known() -> None:
    record = read().record
    assert record is not None
    supply, tests = record.supply, record.tests
    assert (supply.prices, supply.delivery, supply.common_charger, supply.battery_instructions) == (
        None,
        (),
        None,
        None,
    )
    assert (supply.spare_parts.years, supply.spare_parts.bundled, supply.pairing_software.asks) == (None, None, None)
    assert (tests.endurance, tests.falls, tests.capacity, tests.ingress, tests.spill) == (None, (), (), None, None)
    assert (record.parts["tray"].kind, record.parts["tray"].replacing.skill) == (None, None)


def test_spare_parts_may_name_roles_kinds_and_the_charger() -> None:
    supply = {"spare_parts": {"public": ["battery", "card-tray", "charger"], "years": 7.5, "bundled": []}}
    record = read(supply=supply, tray={"kind": "card-tray", "replacing": {"skill": "layman"}}).record
    assert record is not None
    assert record.supply.spare_parts.public == ("battery", "card-tray", "charger")
    assert record.supply.spare_parts.bundled == ()
    assert record.parts["tray"].replacing.skill == "layman"


@pytest.mark.parametrize(
    ("more", "at", "code", "says"),
    [
        ({"tests": {"ingress": "67"}}, "tests.ingress", "record.bad-value", "such as IP67 or IPX8"),
        ({"tests": {"ingress": "IP79"}}, "tests.ingress", "record.bad-value", "no IP code"),
        (
            {"tests": {"capacity": [{"cycles": 500, "left": 86}]}},
            "tests.capacity[0].left",
            "record.bad-quantity",
            "5 %",
        ),
        ({"tests": {"capacity": [{"left": "86 %"}]}}, "tests.capacity[0].cycles", "record.missing", "cycles"),
        ({"tests": {"falls": [45.5]}}, "tests.falls[0]", "record.wrong-type", "whole number"),
        ({"tests": {"falls": [-1]}}, "tests.falls[0]", "record.out-of-range", "at least 0"),
        ({"tests": {"scratch": 11}}, "tests.scratch", "record.out-of-range", "at most 10"),
        ({"tests": {"endurance": "48"}}, "tests.endurance", "record.bad-quantity", "unit"),
        ({"tests": {"spill": "pass"}}, "tests.spill", "record.bad-value", 'did you mean "passed"?'),
        (
            {"supply": {"delivery": [{"year": 0, "days": 5}]}},
            "supply.delivery[0].year",
            "record.out-of-range",
            "at least 1",
        ),
        (
            {"supply": {"spare_parts": {"bundled": [["screen"]]}}},
            "supply.spare_parts.bundled[0][0]",
            "record.bad-value",
            "",
        ),
        (
            {"supply": {"spare_parts": {"public": ["tray"]}}},
            "supply.spare_parts.public[0]",
            "record.bad-value",
            "card-tray",
        ),
        ({"supply": {"common_charger": "yes"}}, "supply.common_charger", "record.wrong-type", "write true"),
        ({"tray": {"kind": "tray"}}, "parts.tray.kind", "record.bad-value", "card-tray"),
        (
            {"tray": {"replacing": {"skil": "layman"}}},
            "parts.tray.replacing.skil",
            "record.unknown-key",
            'mean "skill"?',
        ),
    ],
)
def test_what_is_wrong_is_told_with_place_and_remedy(more: dict[str, Any], at: str, code: str, says: str) -> None:
    reading = read(**more)
    assert reading.record is None
    found = {finding.at: finding for finding in reading.findings}
    assert at in found, found
    assert found[at].code == code
    assert says in f"{found[at].message}; {found[at].remedy}"
