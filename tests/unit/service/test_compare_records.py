"""Comparing with routes and scores: what is shown, what is open, and what no rule covers."""

from __future__ import annotations

from datetime import date
from functools import cache
from pathlib import Path

import pytest

from unfasten.compare.difference import Difference
from unfasten.evidence.errors import CallError
from unfasten.record.record import Record
from unfasten.service.compare import Comparison, compare
from unfasten.service.load import load_record

FOLDER = Path(__file__).parents[3] / "examples"
DAY = date(2026, 6, 1)


@cache
def example(name: str) -> Record:
    return load_record(FOLDER / f"{name}.yaml")


@cache
def found() -> Comparison:
    return compare([example("tarn-9"), example("tarn-11")], DAY)


def of(comparison: Comparison, kind: str, what: str) -> list[Difference]:
    return [one for one in comparison.steps[0].differences if (one.kind, one.what) == (kind, what)]


def depth(part: str) -> Difference:
    (one,) = [one for one in of(found(), "re-routed", "depth") if part in one.about]
    return one


def test_intervals_apart_show_that_the_battery_sits_deeper() -> None:
    battery = depth("battery")
    assert (battery.before, battery.after, battery.effect, battery.note) == ("4 to 7", "8 to 11", "harder", "shown")


def test_intervals_that_overlap_leave_it_open() -> None:
    camera = depth("front-camera")
    assert (camera.before, camera.after, camera.effect) == ("4 to 5", "4 to 7", "open")


def test_the_role_that_passed_to_a_split_part_is_followed() -> None:
    assert depth("charging-port").about == ("port-board", "charging-port")
    assert depth("charging-port").effect == "easier"


def test_a_route_is_its_own_evidence() -> None:
    low = next(e for e in depth("display-assembly").evidence if e.at.endswith(".low") and e.side == "after")
    assert low.says.startswith("6 steps and 5 for pairing")
    assert "release display-glue" in low.says


def test_a_score_tells_the_facts_that_only_one_side_has() -> None:
    (battery,) = of(found(), "re-scored", "S_DD battery")
    says = [(item.side, item.says) for item in battery.evidence]
    assert ("before", "battery: 4 steps (3 to 5 steps give 4)") in says
    assert ("after", "battery: 8 steps (6 to 10 steps give 3)") in says


def test_scores_stand_below_the_index() -> None:
    line = next(line for line in found().steps[0].headlines if line.lead.kind == "re-scored")
    assert line.lead.what == "index"
    assert {one.kind for one in line.follows} == {"re-scored"}
    assert all(
        one.kind != "re-scored" for other in found().steps[0].headlines if other is not line for one in other.follows
    )


def as_other(record: Record) -> Record:
    return record.model_copy(update={"product": record.product.model_copy(update={"category": "other"})})


def test_products_that_no_rules_cover_have_no_scores() -> None:
    comparison = compare([as_other(example("tarn-9")), as_other(example("tarn-11"))], DAY)
    assert not [one for one in comparison.steps[0].differences if one.kind == "re-scored"]


def test_one_product_that_the_rules_do_not_cover_leaves_the_index_open() -> None:
    (index,) = of(compare([example("tarn-9"), as_other(example("tarn-11"))], DAY), "re-scored", "index")
    assert index.after.startswith("not computed: ")
    assert index.effect == "open"


def test_what_the_budget_does_not_prove_is_told_and_shows_nothing() -> None:
    comparison = compare([example("tarn-9"), example("tarn-11")], DAY, budget_s=1e-6)
    assert comparison.unproven
    unproven = {text.split(": ")[1] for text in comparison.unproven}
    depths = of(comparison, "re-routed", "depth")
    names = {one.about[1]: example("tarn-11").parts[one.about[1] or ""].name for one in depths}
    for one in depths:
        if names[one.about[1]] in unproven:
            assert one.effect == "open"
            assert "not proven" in one.before + one.after


@pytest.mark.parametrize("count", [1, 9])
def test_one_or_nine_records_are_refused(count: int) -> None:
    with pytest.raises(CallError, match="cannot be compared"):
        compare([example("tarn-9")] * count, DAY)
