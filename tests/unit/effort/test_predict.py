"""Predictions: sequences for joints, screws by their thread, refusal where a model has no figure or ends."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest

from unfasten.effort.predict import MODELS, predict_move, predict_way
from unfasten.effort.screw import pitch_of, spins_of
from unfasten.effort.tables import shipped, tables_with
from unfasten.effort.work import Prediction
from unfasten.record.joint import Joint


def joint(kind: str, **more: Any) -> Joint:
    return Joint.model_validate({"kind": kind, "holds": ["a", "b"], "ways": [{"tools": ["t"]}], **more})


def most(made: Joint) -> Prediction:
    return predict_way(made, made.ways[0], shipped(), "sequences")


def sheet(made: Joint) -> Prediction:
    return predict_way(made, made.ways[0], shipped(), "worksheet")


@pytest.mark.parametrize(
    ("thread", "pitch"),
    [
        ("M1.4 x 0.3", "3/10"),
        ("M1.2x0.25", "1/4"),
        ("M2 × 0.4 mm", "2/5"),
        ("M1.4", None),
        (None, None),
        ("M2 x 0", None),
    ],
)
def test_the_pitch_stands_in_the_thread(thread: str | None, pitch: str | None) -> None:
    assert pitch_of(thread) == (None if pitch is None else Fraction(pitch))


def test_a_screw_turns_between_half_and_all_of_its_length() -> None:
    spins = spins_of(joint("screw", thread="M1.4 x 0.3", length="2.4 mm"), shipped())
    assert (spins.least, spins.most) == (4, 8)


def test_a_screw_within_one_row_is_a_number() -> None:
    found = most(joint("screw", thread="M1.4 x 0.3", length="2.4 mm", count=3))
    assert found.low == found.high
    assert found.low is not None
    # A1 + P3 + L10 + A1 + P1 = 16; 160 TMU x 3 = 480 TMU; x 0.036 s
    assert (found.low.tmu, found.low.seconds, found.low.times) == (480, Fraction("17.28"), 3)
    assert found.low.written == "A0 B0 G0 A1 B0 P3 L10 A1 B0 P1 A0"


def test_a_longer_screw_is_open_between_two_rows_and_says_what_would_settle_it() -> None:
    found = most(joint("screw", thread="M1.4 x 0.3", length="2.6 mm"))
    assert found.low is not None
    assert found.high is not None
    assert (found.low.tmu, found.high.tmu) == (160, 220)  # 4.3 spins in row 10, 8.7 in row 16
    assert found.look is not None


@pytest.mark.parametrize(
    ("more", "lacking"),
    [
        ({"length": "2.4 mm"}, "thread with its pitch"),
        ({"thread": "M1.4 x 0.3"}, "length"),
        ({"thread": "M1.4"}, "thread with its pitch and length"),
    ],
)
def test_a_screw_that_was_not_measured_is_not_predicted(more: dict[str, str], lacking: str) -> None:
    found = most(joint("screw", **more))
    assert found.span is None
    assert found.look == f"measure the screw: {lacking} (keys thread, length)"


def test_beyond_the_table_it_refuses() -> None:
    last, beyond = (most(joint("screw", thread="M1.4 x 0.3", length=length)) for length in ("18.3 mm", "18.31 mm"))
    assert last.high is not None
    assert "L54" in last.high.written
    assert beyond.span is None
    assert beyond.reason == "61.03 spins are more than the table of L reaches: 61"


@pytest.mark.parametrize("model", MODELS)
@pytest.mark.parametrize("kind", ["adhesive", "tape", "solder", "weld", "other"])
def test_what_no_motion_describes_is_refused_with_its_reason(model: str, kind: str) -> None:
    found = most(joint(kind)) if model == "sequences" else sheet(joint(kind))
    assert (found.low, found.high) == (None, None)
    assert found.reason == shipped().refused[kind]


def test_by_hand_is_another_operation() -> None:
    bare = Joint.model_validate({"kind": "connector", "holds": ["a", "b"], "ways": [{}]})
    found, tooled = predict_way(bare, bare.ways[0], shipped(), "sequences"), most(joint("connector"))
    assert (found.operation, tooled.operation) == ("connector by hand", "connector")
    assert found.low is not None
    assert found.low.seconds == Fraction("1.8")  # A1 + G3 + M1 = 5, 50 TMU
    assert tooled.low is not None
    assert tooled.low.seconds == Fraction("2.52")  # A1 + P3 and M3 = 7, 70 TMU


def test_the_worksheet_counts_removal_and_laying_aside_of_each() -> None:
    found = sheet(joint("screw", count=3))
    assert found.span is not None
    assert (found.span.low, found.span.high) == (3 * Fraction("9.4"), 3 * Fraction("12.7"))
    assert sheet(joint("magnet")).span is None


def test_moves() -> None:
    for model in MODELS:
        for name, seconds in (("lift", {"sequences": "1.44", "worksheet": "3.8"}),
                              ("tool change", {"sequences": "1.44", "worksheet": "4.2"})):  # fmt: skip
            span = predict_move(name, shipped(), model).span  # type: ignore[arg-type]
            assert span is not None
            assert span.low == Fraction(seconds[model])
    assert predict_move("swing", shipped(), "worksheet").span is None


def test_a_users_sequence_answers_what_was_refused(tmp_path: Path) -> None:
    path = tmp_path / "own.yaml"
    path.write_text(
        "format: unfasten-worktime/1\ntitle: own\noperations:\n"
        '  adhesive: {sequence: "A1 B0 G1 M3 X0 I0 A0", per: once, confidence: own}\n'
        '  tape: {sequence: "A1 B0 G1 M3 X{process} I0 A0", per: once, confidence: own}\n',
        encoding="utf-8",
    )
    tables = tables_with(path)
    made = joint("adhesive")
    found = predict_way(made, made.ways[0], tables, "sequences")
    assert found.span is not None
    assert found.span.low == Fraction("1.8")
    open_count = predict_way(joint("tape"), made.ways[0], tables, "sequences")
    assert (open_count.span, open_count.reason) == (None, "nothing tells process")
