"""Asking about the index, the class and the steps of a part: order, words, looks and when it is settled."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Any

import pytest

from unfasten.evidence.errors import CallError
from unfasten.record.record import Record
from unfasten.routes.opencover import OpenCover
from unfasten.service.answer import answer_entry
from unfasten.service.ask import ask
from unfasten.service.askwords import look_text, meaning_text, question_text
from unfasten.service.load import load_record

DAY = date(2026, 6, 1)
GLUE = {OpenCover("joint", "battery-glue", 0, cover) for cover in ("antenna-bracket-left", "speaker-lower-left")}


@pytest.fixture(scope="module")
def tarn(root: Path) -> Record:
    return load_record(root / "examples" / "tarn-11.yaml")


def covers_of(record: Record, figure: str) -> list[OpenCover]:
    return [asked.question.cover for asked in ask(record, DAY, figure).questions]


def test_the_index_of_the_example(tarn: Record) -> None:
    found: dict[str, Any] = ask(tarn, DAY).as_json()
    assert found["figure"] == {"name": "index", "low": "3.2575", "high": "3.37"}
    assert found["settled"] is False
    first = found["questions"][0]
    # battery 8 to 11 steps: one answer may move it across the limit of 10, 0.25 x 0.3 points, with one chance in two
    assert first["narrows"] == 0.0375
    assert first["while_open"] is True
    assert (first["joint"], first["way"], first["group"]) == ("battery-glue", 0, "joints.battery-glue.ways[0]")
    assert (first["yes_means"], first["no_means"]) == ("clear_of", "under")
    assert {q["group"] for q in found["questions"]} == {g["group"] for g in found["groups"]}
    bundle = next(q for q in found["questions"] if "bundle" in q)
    assert (bundle["bundle"], "way" in bundle, bundle["no_means"]) == ("camera-stack", False, "behind")


def test_what_costs_new_material_to_try_later_comes_first(tarn: Record) -> None:
    asked = [a for a in ask(tarn, DAY).questions if a.question.narrows > 0]
    flags = [a.while_open for a in asked]
    assert flags == sorted(flags, reverse=True)
    assert {True, False} <= set(flags)
    for flag in (True, False):
        narrows = [a.question.narrows for a in asked if a.while_open is flag]
        assert narrows == sorted(narrows, reverse=True)


def test_one_look_narrows_more_than_each_of_its_questions(tarn: Record) -> None:
    asking = ask(tarn, DAY)
    for look in asking.looks:
        assert all(look.narrows >= asked.question.narrows for asked in look.questions)
    glue = next(look for look in asking.looks if look.place == "joints.battery-glue.ways[0]")
    assert glue.text == (
        "What had to be out of the way when you parted the battery glue with the pick after heating: "
        "the left antenna bracket or the lower left speaker?"
    )


def test_the_class_is_settled_once_the_battery_is(tarn: Record) -> None:
    assert ask(tarn, DAY, "class").settled is False
    battery = covers_of(tarn, "battery")
    assert set(battery) >= GLUE
    # all of them real: 11 steps, 2 points; the index is then at most 3.37 - 0.25 x 0.3 = 3.295, below the 3.35 of B
    entries = [answer_entry(tarn, cover, covers=True) for cover in battery]
    later = tarn.model_copy(update={"log": (*tarn.log, *entries)})
    asking = ask(later, DAY, "class")
    assert (asking.settled, asking.figure.low, asking.questions) == (True, "C", ())
    assert asking.reason.startswith("C whatever the ")
    assert ask(later, DAY, "battery").settled
    assert not ask(later, DAY, "index").settled  # the cameras still move it


def test_other_examples_have_a_settled_class(root: Path) -> None:
    for name in ("tarn-9", "tarn-11-plus"):
        assert ask(load_record(root / "examples" / f"{name}.yaml"), DAY, "class").settled


def test_a_limit_cuts_the_list_and_keeps_the_best(tarn: Record) -> None:
    assert ask(tarn, DAY, limit=2).questions == ask(tarn, DAY).questions[:2]


def test_a_part_without_open_covers_is_settled(tarn: Record) -> None:
    asking = ask(tarn, DAY, "back-cover")
    assert (asking.settled, asking.questions, asking.figure.low) == (True, (), 3)


@pytest.mark.parametrize(
    ("figure", "code", "says"),
    [
        ("batery", "ask.unknown-figure", 'did you mean "battery"'),
        ("frame", "ask.part-stays", "stays"),
    ],
)
def test_a_wrong_figure_is_refused(tarn: Record, figure: str, code: str, says: str) -> None:
    with pytest.raises(CallError, match=says) as error:
        ask(tarn, DAY, figure)
    assert error.value.code == code


def test_without_rules_the_steps_can_still_be_asked_for(tarn: Record) -> None:
    with pytest.raises(CallError, match="not yet in force") as error:
        ask(tarn, date(2025, 1, 1))
    assert error.value.code == "ask.no-index"
    assert ask(tarn, date(2025, 1, 1), "battery").questions


def test_questions_in_words(tarn: Record) -> None:
    plug = OpenCover("joint", "battery-plug", 0, "near-field-coil")
    assert question_text(tarn, plug) == "Could the battery plug be opened with the near-field coil still in place?"
    assert meaning_text(tarn, plug, covers=True) == (
        "the near-field coil has to be out of the way before the battery plug can be opened"
    )
    assert meaning_text(tarn, plug, covers=False) == (
        "the battery plug can be opened with the near-field coil still in place"
    )
    stack = OpenCover("bundle", "camera-stack", None, "logic-shield")
    assert question_text(tarn, stack) == "Could the camera stack be lifted out with the logic shield still in place?"
    assert look_text(tarn, [stack]) == (
        "What had to be out of the way when you lifted out the camera stack: the logic shield?"
    )
    port = OpenCover("part", "front-camera", None, "battery")
    assert question_text(tarn, port) == "Could the front camera be lifted out with the battery still in place?"
