"""Swap tests count wherever steps are told: routes, index, report, what-if, questions, rubric, comparison, bench."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest

from support.small_record import record
from unfasten.record.record import Record
from unfasten.service.ask import ask
from unfasten.service.assess import assess_record
from unfasten.service.bench.answers import Assessor
from unfasten.service.best import best_changes
from unfasten.service.compare import Comparison, compare
from unfasten.service.report import build_report
from unfasten.service.requirements import requirements
from unfasten.service.routes import reach_of, routes_json
from unfasten.service.whatif import what_if

DAY = date(2026, 6, 1)
RULES = "eu-2023-1669"
#: what a test shows, and the steps that it adds to the two of the cell: clips, then its screw
CASES: dict[str, tuple[list[dict[str, Any]], int, int]] = {
    "none": ([{"accepted": "full"}], 2, 2),
    "authorisation": ([{"accepted": "full", "asked": ["authorisation"]}], 7, 7),
    "at least one": ([{"accepted": "refused", "asked": ["authorisation"]}], 7, 12),
    "lost": ([{"accepted": "limited", "lost": ["charge limit"]}], 2, 12),
    "conflict": ([{"accepted": "full"}, {"accepted": "full", "asked": ["authorisation"]}], 2, 7),
    "no test": ([], 2, 2),
}


def tablet(tests: list[dict[str, Any]], lists: list[str] | None = None, cell: str = "cell") -> Record:
    base = {"part": cell, "donor": {"source": "same-model"}, "software": "1"}
    return record(
        {"cover": {"role": "back-cover"}, cell: {"role": "battery", "pairing": lists or []}},
        {
            "clips": {"kind": "clip", "holds": ["cover", "frame"], "reuse": "reusable", "ways": [{"tools": ["a"]}]},
            "screw": {
                "kind": "screw",
                "holds": [cell, "frame"],
                "reuse": "reusable",
                "ways": [{"tools": ["b"], "under": ["cover"]}],
            },
            "plug": {
                "kind": "connector",
                "holds": [cell, "frame"],
                "reuse": "reusable",
                "ways": [{"under": ["cover"]}],
            },
        },
        supply={"spare_parts": {"public": "all"}, "repair_information": {"public": "free", "professional": "free"}},
        swap_tests={f"t{number}": base | test for number, test in enumerate(tests)},
    )


@pytest.fixture(params=list(CASES))
def case(request: pytest.FixtureRequest) -> tuple[Record, int, int]:
    tests, low, high = CASES[request.param]
    return tablet(tests), low, high


def points(steps: int) -> int:
    return 5 if steps <= 2 else 4 if steps <= 5 else 3 if steps <= 10 else 2


def test_routes(case: tuple[Record, int, int]) -> None:
    made, low, high = case
    for by in ("steps", "time"):
        found: Any = routes_json(made, reach_of(made, by), by)["routes"]
        cell = next(one for one in found if one["target"] == "cell")
        assert cell["steps"] == {"low": low, "high": high}
        assert cell.get("pairing", {"low": 0, "high": 0}) == {"low": low - 2, "high": high - 2}


def test_index(case: tuple[Record, int, int]) -> None:
    made, low, high = case
    found = assess_record(made, DAY)
    (battery,) = [part for part in found.parts if part.role == "battery"]
    assert battery.steps == (low, high)
    span = battery.scores["S_DD"]
    assert span is not None
    assert (span.low, span.high) == (points(high), points(low))
    items = [item for item in found.open if item.where == "parts.cell.pairing"]
    assert [item.affects for item in items] == ([("S_DD",)] if low != high else [])
    (node,) = [node for node in found.scores["S_DD"].walk() if node.id == "S_DD.battery.cell"]
    told = [f"t{number}" for number in range(len(made.swap_tests))]
    assert all(any(test in reason for reason in node.reasons) for test in told)


def test_report_and_bench(case: tuple[Record, int, int]) -> None:
    made, low, high = case
    (sheet,) = [one for one in build_report(made, DAY).procedures if one.part == "cell"]
    assert (sheet.steps.low, sheet.steps.high) == (low, high)
    assert ("remote authorisation" in sheet.additions) == (high > 2)
    assert all(test in sheet.additions for test in made.swap_tests) or high == 2
    tree = {"format": made.format, **made.model_dump(mode="json", by_alias=True, exclude_defaults=True)}
    assessor = Assessor(DAY)
    live = assessor.answers(1, tree, {})
    assert live.assessment is not None
    assert live.assessment.points == assess_record(made, DAY).points
    assert (live.reaches["cell"].steps_low, live.reaches["cell"].steps_high) == (low, high)
    # an entry that takes the tests away again: the routes are kept, the pairing is not
    bare = assessor.answers(2, {key: value for key, value in tree.items() if key != "swap_tests"}, {})
    assert (bare.reaches["cell"].steps_low, bare.reaches["cell"].steps_high) == (2, 2)


def test_questions(case: tuple[Record, int, int]) -> None:
    made, low, high = case
    found = ask(made, DAY, "cell")
    assert (found.figure.low, found.figure.high, found.settled) == (low, high, True)
    assert ("swap tests leave open which pairing cell needs" in found.reason) == (low != high)


def test_what_if_pairing_went(case: tuple[Record, int, int]) -> None:
    made, low, high = case
    found: Any = what_if(made, ["parts.cell.pairing=none"], DAY).as_json()
    assert found["before"]["parts"]["cell"]["steps"] == {"low": low, "high": high}
    assert found["after"]["parts"]["cell"]["steps"] == {"low": 2, "high": 2}
    texts = [gain.changes[0].text for gain in best_changes(made, DAY, "cell").singles]
    assert ("parts.cell.pairing=none" in texts) == (high > 2)


def test_what_if_a_test_had_come_out_otherwise() -> None:
    found: Any = what_if(tablet(CASES["authorisation"][0]), ["swap_tests.t0.asked=none"], DAY).as_json()
    assert found["before"]["parts"]["cell"]["steps"] == {"low": 7, "high": 7}
    assert found["after"]["parts"]["cell"]["steps"] == {"low": 2, "high": 2}


def compared(one: str, other: str) -> tuple[Comparison, list[tuple[str, str, str]]]:
    first, second = tablet(CASES[one][0]), tablet(CASES[other][0])
    product = second.product.model_copy(update={"id": "small-2"})
    found = compare([first, second.model_copy(update={"product": product})], DAY)
    told = [(d.kind, d.before, d.after) for d in found.steps[0].differences if d.kind in ("paired", "re-scored")]
    return found, told


def test_two_records_differ_by_what_tests_show() -> None:
    found, told = compared("none", "authorisation")
    assert ("paired", "none", "authorisation") in told
    assert any(kind == "re-scored" for kind, _, _ in told)
    (one,) = [d for d in found.steps[0].differences if d.kind == "paired"]
    assert {(e.side, e.at) for e in one.evidence if e.at.startswith("swap")} == {
        ("before", "swap_tests.t0"),
        ("after", "swap_tests.t0"),
    }


def test_what_may_be_the_same_is_no_difference() -> None:
    _, told = compared("authorisation", "lost")
    assert not [one for one in told if one[0] == "paired"]
    _, apart = compared("none", "at least one")
    assert ("paired", "none", "authorisation to notification, authorisation") in apart


@pytest.mark.parametrize(
    ("name", "lists", "verdict"),
    [
        ("none", [], "does not apply"),
        ("none", ["notification"], "does not apply"),
        ("authorisation", [], "unknown"),  # paired; whether the software is given is not known
        ("lost", [], "unknown"),
        ("conflict", [], "unknown"),
        ("no test", [], "unknown"),
    ],
)
def test_requirements(name: str, lists: list[str], verdict: str) -> None:
    found = requirements(tablet(CASES[name][0], lists), DAY)
    (ruling,) = [one for one in found.rulings if one.id == "pairing"]
    (cell,) = [one for one in ruling.children if one.id == "cell"]
    assert cell.verdict == verdict
    told = " ".join(cell.reasons)
    assert ("needs remote authorisation" in told) == (name == "authorisation")


def test_what_is_not_tested_can_be_counted_as_open() -> None:
    made = tablet([])
    wide = assess_record(made, DAY, RULES, {"untested-pairing": "open"})
    (battery,) = [part for part in wide.parts if part.role == "battery"]
    span = battery.scores["S_DD"]
    assert span is not None
    assert (span.low, span.high) == (2, 5)
    assert "parts.cell.pairing" in [item.where for item in wide.open]
    (cover,) = [part for part in wide.parts if part.role == "back-cover"]
    assert cover.scores["S_DD"] is not None
    assert cover.scores["S_DD"].is_known  # nothing in a cover on clips can be noticed
    tested = tablet(CASES["none"][0])
    same = assess_record(tested, DAY, RULES, {"untested-pairing": "open"})
    assert same.points == assess_record(tested, DAY).points
