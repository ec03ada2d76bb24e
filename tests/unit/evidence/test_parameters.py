"""Parameter files: dated values, and strict reading with every problem at once."""

from __future__ import annotations

from datetime import date
from fractions import Fraction
from pathlib import Path

import pytest

from unfasten.evidence.fields import InvalidFileError
from unfasten.evidence.parameter import Law, TooEarlyError, load_parameters

GOOD = """\
source: eu-2023-1669
still_valid_on: 2026-05-10
parameters:
  - id: steps.most
    meaning: most steps allowed
    unit: step
    confidence: L+1
    range: [1, 100]
    values:
      - {from: 2025-06-20, value: 5, at: "Annex I, 2(b)"}
      - {from: 2027-01-01, value: 3, at: "Annex I, 2(b), row 2"}
  - id: levels
    meaning: points by word
    unit: point
    confidence: L
    range: [1, 5]
    values: [{from: 2025-06-20, value: {good: 5, bad: 1.5}, at: "Annex I, 3"}]
"""


def written(folder: Path, text: str) -> Path:
    path = folder / "example.yaml"
    path.write_text(text, encoding="utf-8")
    return path


def problems(folder: Path, text: str) -> list[tuple[str, int | None]]:
    with pytest.raises(InvalidFileError) as caught:
        load_parameters([written(folder, text)])
    assert caught.value.where == "example.yaml"
    return [(problem.code, problem.line) for problem in caught.value.problems]


def test_the_value_is_that_of_the_day(tmp_path: Path) -> None:
    parameters = load_parameters([written(tmp_path, GOOD)])
    days = (date(2025, 6, 20), date(2026, 12, 31), date(2027, 1, 1), date(2099, 1, 1))
    assert [parameters["steps.most"].on(day).number for day in days] == [5, 5, 3, 3]
    figure = parameters["steps.most"].on(days[-1])
    assert (figure.since, str(figure.cite), figure.unit, figure.confidence) == (
        date(2027, 1, 1),
        "eu-2023-1669, Annex I, 2(b), row 2",
        "step",
        "L+1",
    )


def test_a_day_before_the_first_value_is_an_error_that_says_so(tmp_path: Path) -> None:
    law = Law(load_parameters([written(tmp_path, GOOD)]), date(2025, 6, 19))
    with pytest.raises(TooEarlyError, match="no value on 2025-06-19; the first holds from 2025-06-20"):
        law("steps.most")
    assert law.asked == {"steps.most"}
    with pytest.raises(KeyError):
        law("steps.least")


def test_tables_are_read_exactly(tmp_path: Path) -> None:
    figure = load_parameters([written(tmp_path, GOOD)])["levels"].on(date(2026, 1, 1))
    assert figure.table == {"good": 5, "bad": Fraction(3, 2)}
    with pytest.raises(TypeError, match="not one number"):
        _ = figure.number
    with pytest.raises(TypeError, match="no rows"):
        _ = figure.rows


@pytest.mark.parametrize(
    ("old", "new", "code", "line"),
    [
        ("    unit: step\n", "", "data.missing-key", 4),
        ("    unit: step\n", "    unit: step\n    colour: red\n", "data.unknown-key", 7),
        ("    unit: step\n", "    unit: step\n    unit: step\n", "data.repeated-key", 7),
        (', at: "Annex I, 2(b)"', "", "data.missing-key", 10),
        ("source: eu-2023-1669", "source: eu-2023-1699", "data.unknown-source", 1),
        ("confidence: L+1", "confidence: S1", "data.wrong-kind", 7),
        ("confidence: L+1", "confidence: M", "data.wrong-kind", 7),
        ("from: 2027-01-01", "from: 2025-01-01", "data.wrong-kind", 9),
        ("from: 2027-01-01", "from: 2027-02-30", "data.wrong-kind", 11),
        ("from: 2027-01-01", "from: 2027", "data.wrong-kind", 11),
        ("value: 3", "value: 300", "data.out-of-range", 11),
        ("value: 3", "value: true", "data.wrong-kind", 11),
        ("still_valid_on: 2026-05-10\n", "", "data.missing-key", 1),
        ("id: levels", "id: steps.most", "data.repeated-id", 3),
        ("id: levels", "id: Levels!", "data.wrong-kind", 12),
        ("range: [1, 5]", "range: [1, 5, 7]", "data.wrong-kind", 16),
    ],
)
def test_what_is_wrong_is_told_with_its_line(tmp_path: Path, old: str, new: str, code: str, line: int) -> None:
    assert old in GOOD
    assert (code, line) in problems(tmp_path, GOOD.replace(old, new, 1))


def test_all_problems_are_told_at_once(tmp_path: Path) -> None:
    text = (
        GOOD.replace("unit: step", "unit: [step]")
        .replace("value: 3", "value: 300")
        .replace("meaning: points", "maening: points")
    )
    codes = [code for code, _ in problems(tmp_path, text)]
    assert codes == ["data.wrong-kind", "data.out-of-range", "data.unknown-key", "data.missing-key"]


def test_the_same_id_in_two_files_is_an_error(tmp_path: Path) -> None:
    first, second = tmp_path / "a.yaml", tmp_path / "b.yaml"
    for path in (first, second):
        path.write_text(GOOD, encoding="utf-8")
    with pytest.raises(InvalidFileError, match=r"another file defines steps\.most too"):
        load_parameters([first, second])
