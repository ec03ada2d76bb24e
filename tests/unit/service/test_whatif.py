"""What-if: figures before and after, the best changes and why, on records that can be checked by hand."""

from __future__ import annotations

from datetime import date
from fractions import Fraction
from typing import Any

import pytest

from support.small_record import record
from unfasten.evidence.errors import CallError
from unfasten.record.change import settled
from unfasten.record.record import Record
from unfasten.service.best import best_changes, priority_parts
from unfasten.service.change import catalogue
from unfasten.service.trial import Stand
from unfasten.service.whatif import ChangeInvalid, best_json, reasons, what_if

DAY = date(2026, 6, 1)
SUPPLY: dict[str, Any] = {
    "spare_parts": {"public": "all", "professional": "all"},
    "updates": {"years": 7},
    "repair_information": {"public": "free", "professional": "free", "board_diagrams": "public"},
}


@pytest.fixture
def tablet() -> Record:
    """A cover on clips; under it a brace on screws; under both the battery in glue that needs heat."""
    glue = {
        "kind": "adhesive",
        "holds": ["battery", "frame"],
        "reuse": "resupplied",
        "ways": [
            {
                "tools": ["a"],
                "prepare": [{"do": "heat", "tools": ["pad"], "time": "60 s"}],
                "under": ["brace", "cover"],
                "time": "10 s",
            }
        ],
    }
    return record(
        {"cover": {"role": "back-cover"}, "brace": {}, "battery": {"role": "battery", "pairing": ["notification"]}},
        {
            "clips": {"holds": ["cover", "frame"], "reuse": "reusable", "ways": [{"tools": ["b"]}]},
            "screws": {
                "holds": ["brace", "frame"],
                "reuse": "reusable",
                "ways": [{"tools": ["a"], "under": ["cover"]}],
            },
            "glue": glue,
        },
        tools={"pad": {"name": "Pad", "class": "commercial"}},
        supply=SUPPLY,
    )


def test_before_and_after(tablet: Record) -> None:
    answer = what_if(tablet, ["joints.glue.ways[0].prepare=none", "parts.battery.pairing=none"], DAY)
    found = answer.as_json()
    before, after = found["before"], found["after"]
    # clips, screws, heat, glue: 4 steps and 5 for pairing; without both 3
    assert before["parts"]["battery"]["steps"] == {"low": 9, "high": 9}  # type: ignore[index]
    assert after["parts"]["battery"]["steps"] == {"low": 3, "high": 3}  # type: ignore[index]
    # S_DD 3 -> 4 and S_T 1 -> 4 of the battery, at 0.3: 0.25 x 0.3 + 0.15 x 0.9
    points = answer.before.assessment.points, answer.after.assessment.points
    assert points[0] is not None
    assert points[1] is not None
    assert points[1].low - points[0].low == Fraction("0.21")
    assert [(effect.score, effect.role) for effect in answer.effects()] == [("S_DD", "battery"), ("S_T", "battery")]
    assert "pad (commercial) -> a (basic)" in answer.effects()[1].why


def test_wrong_changes_are_told_together(tablet: Record) -> None:
    with pytest.raises(ChangeInvalid) as caught:
        what_if(tablet, ["joints.glu.reuse=reusable", "tools.pad.class=basc"], DAY)
    assert [finding.code for finding in caught.value.findings] == ["change.unknown-place", "record.bad-value"]
    assert caught.value.exit_code == 2
    assert 'did you mean "glue"?' in str(caught.value)
    assert len(caught.value.as_json()["findings"]) == 2  # type: ignore[arg-type]


def test_the_best_change_with_its_reason(tablet: Record) -> None:
    best = best_changes(tablet, DAY, limit=3)
    # no heating, or a second way, leaves the screws' driver as the worst tool: S_T 4 for 1, 0.15 x 0.3 x 3; 9 steps
    # become 8 or 7, all in one band
    texts = [gain.changes[0].text for gain in best.singles]
    assert texts[:2] == ["joints.glue.ways[0].prepare=none", "joints.glue.ways+=hand"]
    assert best.singles[0].key == (Fraction("0.135"), Fraction("0.135"))
    assert reasons(best, best.singles[0]) == ["S_T of battery 1.00 -> 4.00: pad (commercial) -> a (basic)"]
    assert best.tried > 10
    assert tablet.joints["glue"].ways[0].prepare != ()


def test_the_best_for_a_part(tablet: Record) -> None:
    best = best_changes(tablet, DAY, "battery", limit=2)
    assert best.singles[0].changes[0].text == "parts.battery.pairing=none"
    assert reasons(best, best.singles[0]) == ["battery: 9 -> 4 steps"]
    # clips and screws fall away
    assert best.singles[1].changes[0].text == "joints.glue.ways[0].under=none"
    assert best.singles[1].key[0] == -7
    found = best_json(best)
    assert found["for"] == "battery"
    assert found["part"]["steps"] == {"low": 9, "high": 9}  # type: ignore[index]


def test_pairs_gain_more_than_each_alone(tablet: Record) -> None:
    best = best_changes(tablet, DAY, "battery", pairs=True, limit=1)
    (pair,) = best.pairs
    assert {change.text for change in pair.changes} == {"parts.battery.pairing=none", "joints.glue.ways[0].under=none"}
    assert pair.key[0] == -2


def test_a_record_at_its_best_cannot_be_helped() -> None:
    perfect = record(
        {"cover": {"role": "back-cover"}},
        {"clips": {"holds": ["cover", "frame"], "reuse": "reusable", "ways": [{}]}},
        supply=SUPPLY,
    )
    assert best_changes(perfect, DAY).singles == ()


def test_unknown_offers_are_not_added_to(tablet: Record) -> None:
    bare = tablet.model_copy(update={"supply": type(tablet.supply)()})
    texts = {gain.changes[0].text for gain in best_changes(bare, DAY, limit=50).singles}
    assert {"supply.spare_parts.public=all", "supply.updates.years=7"} <= texts
    assert not any(text.startswith("supply.spare_parts") and "+=" in text for text in texts)


def test_the_catalogue_leaves_out_what_stands_on_no_way(tablet: Record) -> None:
    tree = tablet.model_dump(mode="json", by_alias=True, exclude_defaults=True)
    tree["parts"]["flag"] = {"name": "Flag"}
    tree["joints"]["flag-tape"] = {"kind": "tape", "holds": ["flag", "frame"], "ways": [{"tools": ["c"]}]}
    wider = settled(Record.model_validate({"format": tablet.format, **tree}))
    names = priority_parts(wider)
    texts = [change.text for change in catalogue(wider, Stand(wider, names).events(), names)]
    assert texts
    assert not any("flag" in text for text in texts)
    assert not any(text.startswith("tools.c.") for text in texts)


@pytest.mark.parametrize(("target", "code"), [("batery", "whatif.unknown-part"), ("frame", "whatif.part-stays")])
def test_a_wrong_target(tablet: Record, target: str, code: str) -> None:
    with pytest.raises(CallError) as caught:
        best_changes(tablet, DAY, target)
    assert caught.value.code == code


def test_no_index_to_raise(tablet: Record) -> None:
    other = tablet.model_copy(update={"product": tablet.product.model_copy(update={"category": "other"})})
    with pytest.raises(CallError) as caught:
        best_changes(other, DAY)
    assert caught.value.code == "whatif.no-index"
    assert best_changes(other, DAY, "battery", limit=1).singles
    answer = what_if(other, ["parts.battery.pairing=none"], DAY)
    assert answer.as_json()["after"]["applies"] is False  # type: ignore[index]
    assert answer.after.reaches["battery"].steps_low == 4
