"""Every figure that a rubric may name, from small records; and the shipped example."""

from __future__ import annotations

from datetime import date
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest

from support.small_record import record
from unfasten.evidence.errors import DataError
from unfasten.record.record import Record
from unfasten.rules.rubric import Band, Mark, Value
from unfasten.rules.rubricread import FIGURES, read_rubric
from unfasten.service.assess import assess_record
from unfasten.service.load import load_record
from unfasten.service.rubric import rubric_score
from unfasten.service.rubricfigures import RubricFigures

EXAMPLES = Path(__file__).parents[3] / "examples"
DAY = date(2026, 6, 1)
SPARES = {"spare_parts": {"public": "all", "professional": "all"}}


def made(**more: Any) -> Record:
    """A battery glued under a cover that may or may not have to come off after a shield."""
    parts = {
        "cover": {"role": "back-cover"},
        "shield": {},
        "cell": {
            "role": "battery",
            "mass": "100.0 ± 0.5 g",
            "pairing": ["notification"],
            "battery": {"marked_energy": "19.4 Wh", "cells_in_series": 2, "enclosure": "soft"},
        },
        "horn-left": {"role": "speaker"},
        "horn-right": {"role": "speaker"},
    }
    joints = {
        "clips": {"kind": "clip", "holds": ["cover", "frame"], "reuse": "reusable", "count": 6,
                  "ways": [{"tools": ["a"], "time": "6 s"}]},
        "shield-screws": {"kind": "screw", "holds": ["shield", "frame"], "count": 3, "drive": "cross recess 00",
                          "ways": [{"tools": ["b"], "time": "9 s", "under": ["cover"]}]},
        "strip": {"kind": "adhesive", "holds": ["cell", "frame"], "reuse": "removable",
                  "ways": [{"tools": ["pull"], "time": "30 s", "under": ["cover"], "survey": "partial",
                            "prepare": [{"do": "heat", "tools": ["pad"], "time": "60 s"}]}]},
        "left": {"kind": "screw", "holds": ["horn-left", "frame"], "reuse": "reusable", "ways": [{"tools": ["b"]}]},
        "right": {"kind": "screw", "holds": ["horn-right", "frame"], "drive": "hexalobular 3",
                  "ways": [{"tools": ["b"], "under": ["cover"]}]},
    }  # fmt: skip
    log = [{"do": "lift", "part": "cover"}, {"do": "lift", "part": "shield"}, {"do": "release", "joint": "strip"}]
    tools = {"pad": {"name": "Pad", "class": "commercial"}, "pull": {"name": "Puller"}}
    return record(parts, joints, log=log, tools=tools, **more)


def value(figure: str, of: str | None = None, rules: str | None = None, **more: Any) -> Value:
    mark = Mark("m", "", figure, of, rules, Fraction(1), "at_most", (Band(Fraction(0)),), more.pop("if_absent", None))
    return RubricFigures(made(**more), DAY)(mark)


def ends(
    figure: str, of: str | None = None, rules: str | None = None, **more: Any
) -> tuple[float | None, float | None]:
    found = value(figure, of, rules, **more)
    return tuple(None if end is None else float(end) for end in (found.low, found.high))  # type: ignore[return-value]


@pytest.mark.parametrize(
    ("figure", "of", "low", "high"),
    [
        ("steps", "battery", 8, 9),  # clips 1, heat 1, strip 1, pairing 5; the shield 1 more
        ("steps", "cell", 8, 9),
        ("steps", "speaker", 2, 2),  # the right one lies under the cover
        ("steps", "horn-left", 1, 1),
        ("tools", "battery", 3, 4),
        ("special-tools", "battery", 1, 2),  # the pad; the puller's class is not known
        ("heatings", "battery", 1, 1),
        ("parts-off", "battery", 1, 2),
        ("joints", "screw", 3, 3),
        ("fasteners", "screw", 5, 5),
        ("joints", "all", 5, 5),
        ("drives", None, 2, 3),  # one screw's drive is not known
        ("reuse", "removable", 1, 3),
        ("battery", "marked_energy", 19.4, 19.4),
        ("battery", "mass", 99, 101),
        ("battery", "cells_in_series", 2, 2),
    ],
)
def test_figures_of_the_record(figure: str, of: str | None, low: float, high: float) -> None:
    assert ends(figure, of) == (low, high)


def test_computed_facts_of_the_battery_span_twice_their_uncertainty() -> None:
    battery = {
        "marked_energy": "20 Wh",
        "size": ["4.0 ± 0.1 mm", "50 ± 0 mm", "100 ± 0 mm"],
        "thickness": "4.2 ± 0.1 mm",
        "bay": ["4.5 mm", "52 mm", "102 mm"],
    }
    figures = RubricFigures(record({"cell": {"role": "battery", "mass": "100 g", "battery": battery}}, {}), DAY)

    def of(key: str) -> Value:
        return figures(Mark("m", "", "battery", key, None, Fraction(1), "at_most", (Band(Fraction(0)),)))

    assert (of("wh-per-kg").low, of("wh-per-kg").high) == (200, 200)  # 20 Wh in 0.1 kg
    low, high = of("wh-per-l").low, of("wh-per-l").high
    assert low is not None
    assert high is not None
    assert (low + high) / 2 == 1000  # 20 Wh in 0.02 l
    assert float(high - low) == pytest.approx(100)  # 1000 x 2.5 %, twice on either side
    assert float(of("growth").low or 0) == pytest.approx(0)  # 5 % less twice 2.5 %
    assert of("gap").unit == "mm"
    assert value("battery", "bay-share").look[0].where == "parts.cell.battery"


def test_time_is_that_of_the_quickest_route() -> None:
    # tools a, pad, pull: 3 changes of 1 s; 6 + 60 + 30 s; with the shield one change and 9 s more
    assert ends("time", "battery") == (99, 109)


def test_figures_of_rule_sets() -> None:
    answer = assess_record(made(), DAY)
    assert answer.points is not None
    assert ends("index", None, "eu-2023-1669") == (float(answer.points.low), float(answer.points.high))
    assert ends("score", "S_SP", "eu-2023-1669", supply=SPARES) == (5, 5)
    assert value("verdict", "prices", "eu-2023-1670", supply={"prices": "some"}).words == ("not met",)
    assert value("verdict", "prices", "eu-2023-1670").words == ("met", "not met", "does not apply")
    assert ends("label", "END", "eu-2023-1669-label", tests={"endurance": "30 h"}) == (30, 30)
    assert value("label", "END", "eu-2023-1669-label").look[0].where == "tests.endurance"


def test_classes_between_the_ends_are_possible_too() -> None:
    answer = assess_record(made(), DAY)
    assert answer.grade is not None
    assert (answer.grade.high, answer.grade.low) == ("A", "C")
    assert value("class", None, "eu-2023-1669").words == ("A", "B", "C")


def test_verdicts_are_counted_with_those_that_are_open() -> None:
    low, high = ends("verdicts", "met", "eu-2023-1670", supply={"prices": "all"})
    assert (low, high) != (None, None)
    assert ends("verdicts", "unknown", "eu-2023-1670", supply={"prices": "all"}) == (high - low, high - low)  # type: ignore[operator]


def test_rules_that_do_not_apply_are_absent() -> None:
    assert value("verdict", "removable", "eu-2023-1542-11").absent
    assert value("index", None, "eu-2023-1669", product={"category": "other"}).absent


def test_a_part_that_is_not_there_is_absent_and_a_name_that_nothing_has_is_refused() -> None:
    assert value("steps", "hinge").absent
    assert value("steps", "headset-socket", if_absent=Fraction(0)).absent
    with pytest.raises(DataError, match='did you mean "horn-left"'):
        value("steps", "horn-leftt")


def test_every_figure_of_the_table_is_computed() -> None:
    of = {"part": "battery", "joint kind": "screw", "reuse": "reusable", "score": "S_T", "requirement": "delivery",
          "verdict": "met", "quantity": "END", "battery key": "mass"}  # fmt: skip
    rules = {"index": "eu-2023-1669", "requirements": "eu-2023-1670", "label": "eu-2023-1669-label"}
    for name, figure in FIGURES.items():
        found = value(name, of.get(figure.of or ""), rules.get(figure.kind or ""))
        assert bool(found.words) == figure.words, name


@pytest.mark.parametrize("name", ["tarn-9", "tarn-11", "tarn-11-plus"])
def test_the_shipped_rubric_scores_the_shipped_records(name: str) -> None:
    answer = rubric_score(
        load_record(EXAMPLES / f"{name}.yaml"), read_rubric(EXAMPLES / "rubrics" / "bench-day.yaml"), DAY
    )
    assert answer.percent is not None
    assert 0 <= answer.percent.low < answer.percent.high <= 100
    assert sum(answer.share(one) for one in answer.scored) == 1
    assert all(bool(one.look) == (one.percent is not None and not one.percent.is_known) for one in answer.scored)
