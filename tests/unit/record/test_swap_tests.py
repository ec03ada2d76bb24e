"""Swap tests in a record: read, summed up, and held against the pairing that the record lists."""

from __future__ import annotations

from typing import Any

import pytest

from unfasten.record.check import check_record
from unfasten.record.read import read_tree
from unfasten.record.record import FORMAT, Record
from unfasten.record.swapfact import swap_facts


def tree(tests: dict[str, Any], pairing: list[str] | None = None) -> dict[str, Any]:
    return {
        "format": FORMAT,
        "product": {"id": "tarn-11", "name": "Tarn 11", "maker": "Fellwright", "category": "other"},
        "parts": {
            "frame": {"name": "Frame", "stays": True},
            "battery": {"name": "Battery", "role": "battery", "pairing": pairing or []},
            "tray": {"name": "Tray"},
        },
        "joints": {"plug": {"kind": "connector", "holds": ["battery", "frame"], "ways": [{}]}},
        "swap_tests": tests,
    }


def record(tests: dict[str, Any], pairing: list[str] | None = None) -> Record:
    found = read_tree(tree(tests, pairing))
    assert found.findings == ()
    assert found.record is not None
    return found.record


def made(source: str = "same-model", on: str | None = "2026-03-01", **more: Any) -> dict[str, Any]:
    out = {"part": "battery", "donor": {"source": source}, "fitted": "fits", "software": "1.0"} | more
    return out if on is None else out | {"on": on}


@pytest.mark.parametrize(
    ("more", "state"),
    [
        ({"accepted": "full"}, "accepted"),
        ({"accepted": "full", "asked": ["notification"]}, "after-pairing"),
        ({"accepted": "full", "messages": ["not known"]}, "limited"),
        ({"accepted": "limited", "lost": ["condition"]}, "limited"),
        ({"accepted": "refused"}, "refused"),
        ({}, "not-powered"),
        ({"fitted": "does-not-fit"}, "does-not-fit"),
    ],
)
def test_how_a_test_turned_out(more: dict[str, Any], state: str) -> None:
    assert swap_facts(record({"t": made(**more)}))["battery"].cells["same-model"] == state


def test_the_last_test_counts() -> None:
    tests = {"b": made(on="2026-03-02", accepted="refused"), "a": made(on="2026-03-03", accepted="full"),
             "c": made(on=None, accepted="limited")}  # fmt: skip
    fact = swap_facts(record(tests))["battery"]
    assert fact.cells == {"same-model": "accepted", "sibling": "untested", "other-maker": "untested"}
    assert fact.tests == ("c", "b", "a")


def test_a_part_with_a_role_has_a_fact_without_any_test_and_a_tray_has_none() -> None:
    facts = swap_facts(record({}))
    assert list(facts) == ["battery"]
    assert facts["battery"].shown is None
    assert facts["battery"].agrees is None


@pytest.mark.parametrize(
    ("pairing", "more", "agrees"),
    [
        ([], {"accepted": "full"}, True),
        (["notification"], {"accepted": "full", "asked": ["notification"]}, True),
        (["notification"], {"accepted": "full"}, False),
        ([], {"accepted": "full", "asked": ["authorisation"]}, False),
        ([], {"accepted": "limited", "lost": ["condition"]}, None),  # refused or limited shows no kind of pairing
        ([], {"accepted": "refused"}, None),
    ],
)
def test_pairing_is_confirmed_contradicted_or_not_shown(
    pairing: list[str], more: dict[str, Any], agrees: bool | None
) -> None:
    found = record({"t": made(**more)}, pairing)
    assert swap_facts(found)["battery"].agrees is agrees
    codes = [finding.code for finding in check_record(found)]
    assert ("record.swap-against-pairing" in codes) == (agrees is False)


def test_only_parts_of_the_same_model_show_pairing() -> None:
    found = record({"t": made("sibling", accepted="full")}, ["notification"])
    assert swap_facts(found)["battery"].shown is None


@pytest.mark.parametrize(
    ("more", "code"),
    [
        ({"fitted": "does-not-fit", "accepted": "full"}, "record.swap-not-fitted"),
        ({"accepted": "full", "lost": ["light"]}, "record.swap-lost"),
        ({"donor": {"source": "same-model", "product": "tarn-9"}}, "record.swap-source"),
        ({"donor": {"source": "sibling", "product": "tarn-11"}}, "record.swap-source"),
    ],
)
def test_a_test_that_contradicts_itself_is_a_warning(more: dict[str, Any], code: str) -> None:
    findings = check_record(record({"t": made(**more)}))
    (found,) = [finding for finding in findings if finding.code == code]
    assert found.at.startswith("swap_tests.t")
    assert found.level == "warning"


def test_a_test_under_power_needs_its_software() -> None:
    tests = {"t": {"part": "battery", "donor": {"source": "same-model"}, "accepted": "full"}}
    assert "record.swap-software" in [finding.code for finding in check_record(record(tests))]


@pytest.mark.parametrize(
    ("change", "code", "at"),
    [
        ({"part": "batery"}, "record.unknown-name", "swap_tests.t.part"),
        ({"accepted": "yes"}, "record.bad-value", "swap_tests.t.accepted"),
        ({"on": "March"}, "record.bad-day", "swap_tests.t.on"),
        ({"asked": ["permission"]}, "record.bad-value", "swap_tests.t.asked[0]"),
        ({"donor": {}}, "record.missing", "swap_tests.t.donor.source"),
        ({"weather": "dry"}, "record.unknown-key", "swap_tests.t.weather"),
    ],
)
def test_a_wrong_test_is_an_error_with_its_place(change: dict[str, Any], code: str, at: str) -> None:
    findings = read_tree(tree({"t": made() | change})).findings
    assert [(finding.code, finding.at) for finding in findings] == [(code, at)]
