"""A rubric's file: read strictly, every problem at once with its line; bands, weights and what is absent."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from unfasten.evidence.fields import InvalidFileError
from unfasten.evidence.place import place
from unfasten.rules.rubric import Band, Mark, Rubric, Value, score
from unfasten.rules.rubricread import read_rubric

GOOD = """\
format: unfasten-rubric/1
id: mine
title: Mine
criteria:
  - id: depth
    title: Depth
    figure: steps
    of: battery
    weight: 3
    bands: [{at_most: 4, percent: 100}, {at_most: 10, percent: 60}, {percent: 0}]
  - id: energy
    title: Energy
    figure: battery
    of: marked_energy
    weight: 1
    bands: [{at_least: 35, percent: 100}, {at_least: 25, percent: 60}, {percent: 20}]
  - id: terms
    title: Delivery
    figure: verdict
    rules: eu-2023-1670
    of: delivery
    weight: 1
    if_absent: leave-out
    bands: [{is: [met, does not apply], percent: 100}, {percent: 0}]
"""


def read(tmp_path: Path, text: str = GOOD) -> Rubric:
    path = tmp_path / "rubric.yaml"
    path.write_text(text, encoding="utf-8")
    return read_rubric(path)


def problems(tmp_path: Path, text: str) -> dict[str, tuple[str, int | None, str]]:
    with pytest.raises(InvalidFileError) as caught:
        read(tmp_path, text)
    return {place(p.path): (p.code, p.line, f"{p.message}; {p.remedy}") for p in caught.value.problems}


def marks(tmp_path: Path) -> dict[str, Mark]:
    return {mark.id: mark for mark in read(tmp_path).marks}


def exactly(number: int | str) -> Value:
    return Value("", Fraction(number), Fraction(number))


def percent(mark: Mark, value: Value) -> tuple[Fraction, Fraction] | None:
    (one,) = score(Rubric("r", "r", None, (mark,)), {mark.id: value}).scored
    return None if one.percent is None else (one.percent.low, one.percent.high)


@pytest.mark.parametrize(("steps", "gives"), [(3, 100), (4, 100), (5, 60), (9, 60), (10, 60), (11, 0)])
def test_at_most_just_below_at_and_above_each_limit(tmp_path: Path, steps: int, gives: int) -> None:
    assert percent(marks(tmp_path)["depth"], exactly(steps)) == (gives, gives)


@pytest.mark.parametrize(
    ("energy", "gives"), [("24.99", 20), ("25", 60), ("25.01", 60), ("34.99", 60), ("35", 100), ("35.01", 100)]
)
def test_at_least_just_below_at_and_above_each_limit(tmp_path: Path, energy: str, gives: int) -> None:
    assert percent(marks(tmp_path)["energy"], exactly(energy)) == (gives, gives)


def test_an_open_figure_spans_the_bands_it_may_fall_into(tmp_path: Path) -> None:
    mark = marks(tmp_path)
    assert percent(mark["depth"], Value("", Fraction(4), Fraction(7))) == (60, 100)
    assert percent(mark["depth"], Value("", Fraction(5), None)) == (0, 60)
    assert percent(mark["energy"], Value("", Fraction(26), None)) == (60, 100)
    assert percent(mark["depth"], Value()) == (0, 100)
    assert percent(mark["terms"], Value(words=("met", "not met"))) == (0, 100)
    assert percent(mark["terms"], Value(words=("met", "does not apply"))) == (100, 100)


def test_what_is_absent_is_left_out_or_counts_as_stated_or_is_open(tmp_path: Path) -> None:
    mark = marks(tmp_path)
    assert percent(mark["terms"], Value(absent=True)) is None
    assert percent(mark["depth"], Value(absent=True)) == (0, 100)
    stated = {m.id: m for m in read(tmp_path, GOOD.replace("of: battery\n", "of: battery\n    if_absent: 30\n")).marks}
    assert percent(stated["depth"], Value(absent=True)) == (30, 30)


def test_the_result_is_the_mean_by_weight_of_what_counts(tmp_path: Path) -> None:
    rubric = read(tmp_path)
    values = {"depth": exactly(5), "energy": exactly(40), "terms": Value(absent=True)}
    found = score(rubric, values)
    # (3 x 60 + 1 x 100) / 4, the third is left out
    assert found.percent is not None
    assert (found.percent.low, found.percent.high) == (70, 70)
    assert [found.share(one) for one in found.scored] == [Fraction(3, 4), Fraction(1, 4), 0]
    assert found.as_json()["percent"] == {"low": "70.00", "high": "70.00"}


def test_nothing_that_counts_gives_no_result(tmp_path: Path) -> None:
    (terms,) = [mark for mark in read(tmp_path).marks if mark.id == "terms"]
    found = score(Rubric("r", "r", None, (terms,)), {"terms": Value(absent=True)})
    assert (found.percent, found.as_json()["percent"]) == (None, None)


def test_thirds_are_exact_until_they_are_shown(tmp_path: Path) -> None:
    mark = marks(tmp_path)["depth"]
    three = tuple(Mark(f"m{n}", "", mark.figure, mark.of, None, Fraction(1), mark.test, mark.bands) for n in range(3))
    found = score(Rubric("r", "r", None, three), {"m0": exactly(1), "m1": exactly(1), "m2": exactly(11)})
    assert found.percent is not None
    assert found.percent.low == Fraction(200, 3)
    assert found.as_json()["percent"] == {"low": "66.67", "high": "66.67"}


@settings(max_examples=200)
@given(st.integers(0, 20), st.integers(0, 10), st.integers(0, 5), st.integers(0, 5))
def test_a_narrower_figure_never_widens_the_percentage(low: int, width: int, cut: int, end: int) -> None:
    bands = GOOD_MARK.bands
    wide = Value("", Fraction(low), Fraction(low + width))
    start = min(low + cut, low + width)
    narrow = Value("", Fraction(start), Fraction(max(start, low + width - end)))
    mark = Mark("m", "", "steps", "battery", None, Fraction(1), "at_most", bands)
    outer, inner = percent(mark, wide), percent(mark, narrow)
    assert outer is not None
    assert inner is not None
    assert outer[0] <= inner[0] <= inner[1] <= outer[1]


def _good_mark() -> Mark:
    bands = (Band(Fraction(100), Fraction(4)), Band(Fraction(60), Fraction(10)), Band(Fraction(0)))
    return Mark("depth", "Depth", "steps", "battery", None, Fraction(3), "at_most", bands)


GOOD_MARK = _good_mark()


@pytest.mark.parametrize(
    ("old", "new", "where", "code", "says"),
    [
        ("unfasten-rubric/1", "unfasten-rubric/2", "format", "data.unknown-word", "unfasten-rubric/1"),
        ("figure: steps", "figure: step", "criteria[0].figure", "data.unknown-word", 'did you mean "steps"?'),
        ("weight: 3", "weigth: 3", "criteria[0].weigth", "data.unknown-key", 'did you mean "weight"?'),
        ("weight: 3", "weight: 0", "criteria[0].weight", "data.wrong-kind", "above 0"),
        ("weight: 3", "weight: three", "criteria[0].weight", "data.wrong-kind", "a number"),
        ("percent: 60}, {", "percent: 160}, {", "criteria[0].bands[1].percent", "data.wrong-kind", "0 to 100"),
        ("{at_most: 10, percent: 60}", "{at_most: 10}", "criteria[0].bands[1]", "data.missing-key", "percent"),
        ("{at_most: 10,", "{at_least: 10,", "criteria[0].bands[1].at_least", "data.unknown-key", "beside at_most"),
        ("at_most: 10", "at_most: 3", "criteria[0].bands", "data.wrong-kind", "rising"),
        ("at_least: 25", "at_least: 36", "criteria[1].bands", "data.wrong-kind", "falling"),
        (", {percent: 0}]\n  - id: energy", "]\n  - id: energy", "criteria[0].bands[1]", "data.wrong-kind", "the rest"),
        ("[{at_most: 4, percent: 100},", "[{percent: 100},", "criteria[0].bands[0]", "data.wrong-kind", "put it last"),
        ("of: marked_energy", "of: energy", "criteria[1].of", "data.unknown-word", "marked_energy"),
        ("of: marked_energy", "of: enclosure", "criteria[1].bands[0].at_least", "data.unknown-key", "write is"),
        ("of: delivery", "of: delivry", "criteria[2].of", "data.unknown-word", 'did you mean "delivery"?'),
        ("rules: eu-2023-1670", "rules: eu-2023-1669", "criteria[2].rules", "data.unknown-word", "eu-2023-1670"),
        ("    rules: eu-2023-1670\n", "", "criteria[2]", "data.missing-key", "'rules' is missing"),
        ("of: battery\n", "of: battery\n    rules: eu-2023-1669\n", "criteria[0].rules", "data.unknown-key", "delete"),
        ("is: [met, does not apply]", "at_most: 3", "criteria[2].bands[0].at_most", "data.unknown-key", "write is"),
        ("id: energy", "id: depth", "criteria[1].id", "data.repeated-id", "stands twice"),
        ("if_absent: leave-out", "if_absent: leave out", "criteria[2].if_absent", "data.wrong-kind", "leave-out"),
        ("title: Mine\n", "title: Mine\ntitle: Mine\n", "title", "data.repeated-key", "stands twice"),
    ],
)  # fmt: skip
def test_what_is_wrong_is_found_at_its_place(
    tmp_path: Path, old: str, new: str, where: str, code: str, says: str
) -> None:
    assert old in GOOD
    found = problems(tmp_path, GOOD.replace(old, new, 1))
    assert where in found, found
    assert found[where][0] == code
    assert says in found[where][2]
    assert found[where][1] is not None


def test_every_problem_is_told_at_once_in_the_order_of_the_lines(tmp_path: Path) -> None:
    text = (
        GOOD.replace("figure: steps", "figure: depth")
        .replace("weight: 1", "weight: -1")
        .replace("is: [met", "is: [met, met")
    )
    found = problems(tmp_path, text)
    assert list(found) == ["criteria[0].figure", "criteria[1].weight", "criteria[2].weight", "criteria[2].bands"]
    lines = [line for _, line, _ in found.values()]
    assert lines == sorted(line for line in lines if line is not None)


def test_a_word_of_a_verdict_that_does_not_exist_is_refused(tmp_path: Path) -> None:
    found = problems(tmp_path, GOOD.replace("is: [met, does not apply]", "is: [met, passed]"))
    assert found["criteria[2].bands[0].is"][0] == "data.unknown-word"


def test_a_file_that_is_no_yaml_is_told(tmp_path: Path) -> None:
    assert problems(tmp_path, "format: [")
    assert problems(tmp_path, "- a\n")
