"""Work times for the doors: the log's times beside predictions, what is left out, the route, the stop."""

from __future__ import annotations

import json
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest

from support.small_record import record
from unfasten.evidence.errors import CallError
from unfasten.record.record import Record
from unfasten.service.effort import WayTime, WorkTimes, work_times

SCREW = {"kind": "screw", "thread": "M1.4 x 0.3", "length": "2.4 mm"}  # 160 TMU, 5.76 s each
HEAT = [{"do": "heat", "tools": ["b"], "time": "60 s"}]


def product(log: list[dict[str, Any]] | None = None, **battery: Any) -> Record:
    return record(
        {"cover": {}, "cell": {"role": "battery", "battery": battery}},
        {
            "screws": {
                **SCREW,
                "holds": ["cover", "frame"],
                "count": 2,
                "ways": [{"tools": ["a"], "time": "5 s each"}],
            },
            "clips": {
                "kind": "clip",
                "holds": ["cover", "frame"],
                "count": 4,
                "ways": [{"tools": ["b"], "time": "9 s"}],
            },
            "glue": {
                "kind": "adhesive",
                "holds": ["cell", "frame"],
                "ways": [{"tools": ["b"], "time": "40 s", "prepare": HEAT, "under": ["cover"]}],
            },
        },
        log=log or [],
    )


def way(answer: WorkTimes, joint: str) -> WayTime:
    return next(one for one in answer.ways if one.joint == joint)


def test_a_prediction_stands_beside_the_records_own_time() -> None:
    made = product()
    before = made.model_dump_json()
    found = way(work_times(made), "screws")
    assert found.prediction.span is not None
    assert (found.prediction.span.low, found.own, found.observed) == (2 * Fraction("5.76"), 10, ())
    assert made.model_dump_json() == before


def test_times_of_the_log_are_compared_per_cycle() -> None:
    log = [
        {"do": "release", "joint": "screws", "way": 0, "took": "12 s"},
        {"do": "release", "joint": "clips", "took": "8 s"},
    ]
    answer = work_times(product(log))
    screw, clip, every = answer.agreements
    assert (screw.operation, screw.mean, screw.ratio) == ("screw", 6.0, pytest.approx(6 / 5.76))
    assert (clip.operation, clip.mean, clip.ratio) == ("clip", 2.0, pytest.approx(2 / 2.52))
    assert (every.operation, every.count, every.needed) == ("all", 2, None)


def test_a_rating_makes_normal_time_before_comparing(tmp_path: Path) -> None:
    path = tmp_path / "own.yaml"
    text = 'format: unfasten-worktime/1\ntitle: own\nstudy: {rating: {value: 120, unit: "%", confidence: own}}\n'
    path.write_text(text, encoding="utf-8")
    log = [{"do": "release", "joint": "screws", "way": 0, "took": "12 s"}]
    answer = work_times(product(log), data=path)
    found = way(answer, "screws")
    assert (found.observed, found.normal) == ((12,), (Fraction("14.4"),))
    assert answer.agreements[0].mean == pytest.approx(7.2)


def test_an_allowance_is_added_to_predictions_only(tmp_path: Path) -> None:
    path = tmp_path / "own.yaml"
    head = "format: unfasten-worktime/1\ntitle: own\n"
    text = head + 'study: {allowance: {value: 20, unit: "%", confidence: own}, allowance_of: '
    log = [{"do": "release", "joint": "screws", "way": 0, "took": "12 s"}]
    standard = {}
    for of in ("job", "shift"):
        path.write_text(f"{text}{of}}}\n", encoding="utf-8")
        answer = work_times(product(log), data=path)
        span = answer.standard(way(answer, "screws").prediction.span)
        assert span is not None
        standard[of] = span.low
        assert answer.agreements[0].ratio == pytest.approx(6 / 5.76)
    assert standard == {"job": Fraction("11.52") * Fraction("1.2"), "shift": Fraction("11.52") / Fraction("0.8")}


def test_a_time_that_holds_a_preparation_is_left_out() -> None:
    answer = work_times(product([{"do": "release", "joint": "glue", "way": 0, "took": "110 s"}]))
    assert way(answer, "glue").left_out == "the time in the log holds the preparation too"
    assert answer.agreements == ()


def test_the_route_adds_what_is_predicted_and_what_the_record_knows() -> None:
    answer = work_times(product(condition="sound"), to="cell")
    route = answer.route
    assert route is not None
    assert {one.joint for one in answer.ways} == {"screws", "clips", "glue"}
    # screws 11.52 + clips 10.08 + lifts 2 x 1.44 + tool changes 2 x 1.44 (a, then b; b stays in hand)
    assert (route.predicted.low, route.predicted.high) == (Fraction("27.36"), Fraction("27.36"))
    assert (route.from_record, route.unpredicted) == (100, ("glue", "glue"))
    assert route.total is not None
    assert route.total.low == Fraction("127.36")
    assert route.own_total == 10 + 9 + 60 + 40 + 2
    assert any(care.id == "heat-near-cell" for care in route.cautions)


def test_a_time_that_nobody_knows_leaves_the_total_unknown() -> None:
    made = record(["cover"], {"glue": {"kind": "adhesive", "holds": ["cover", "frame"], "ways": [{"tools": ["a"]}]}})
    route = work_times(made, to="cover").route
    assert route is not None
    assert route.total is None
    assert route.unpredicted == ("glue",)


@pytest.mark.parametrize("condition", ["swollen", "damaged"])
def test_a_stop_gives_no_route(condition: str) -> None:
    answer = work_times(product(condition=condition), to="cell")
    assert answer.route is None
    assert answer.stop is not None
    assert answer.as_json()["stop"] == {"title": "STOP", "text": answer.stop.text}


def test_the_worksheet_stands_beside() -> None:
    answer = work_times(product(), model="worksheet")
    span = way(answer, "screws").prediction.span
    assert answer.model == "worksheet"
    assert span is not None
    assert (span.low, span.high) == (2 * Fraction("9.4"), 2 * Fraction("12.7"))
    json.dumps(answer.as_json(), allow_nan=False)


def test_wrong_calls() -> None:
    for call, code in (
        (lambda: work_times(product(), to="sell"), "routes.unknown-part"),
        (lambda: work_times(product(), to="frame"), "routes.part-stays"),
        (lambda: work_times(product(), model="basic"), "worktime.unknown-model"),
    ):
        with pytest.raises(CallError) as caught:
            call()
        assert caught.value.code == code
    loop = record(["cover"], {"screw": ("cover frame", {"under": ["cover"]})})
    with pytest.raises(CallError) as caught:
        work_times(loop, to="cover")
    assert caught.value.code == "worktime.no-route"
