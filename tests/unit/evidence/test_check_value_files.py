"""Check values: tolerance from the last printed place, agreement as stated, strict reading."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest

from unfasten.evidence.checkvalue import Check, Models, half_last_digit, load_checks, run_check
from unfasten.evidence.fields import InvalidFileError

GOOD = """\
checks:
  - id: example-half
    kind: worked
    model: half
    source: {doc: unfasten-worked, at: "line 1"}
    given: {x: 3}
    expect: {y: {printed: "1.5", unit: mm}, word: {printed: odd, unit: word}}
    agrees: true
"""


def checks(folder: Path, text: str) -> tuple[Check, ...]:
    path = folder / "worked.yaml"
    path.write_text(text, encoding="utf-8")
    return load_checks(path)


@pytest.mark.parametrize(
    ("printed", "half"), [("12.65", "0.005"), ("165", "0.5"), ("0.0032", "0.00005"), ("1E+2", "50"), ("4.00", "0.005")]
)
def test_half_a_unit_of_the_last_place(printed: str, half: str) -> None:
    assert half_last_digit(printed) == Fraction(half)


@pytest.mark.parametrize(
    ("computed", "agrees"), [(Fraction("1.55"), True), (Fraction("1.45"), True), (1.5501, False), (1, False)]
)
def test_agreement_is_within_the_tolerance(tmp_path: Path, computed: float | Fraction, agrees: bool) -> None:
    (check,) = checks(tmp_path, GOOD)
    outcome = run_check(check, lambda given: {"y": computed, "word": "odd"})
    assert [value.agrees for value in outcome.values] == [agrees, True]
    assert outcome.as_stated is agrees


def test_a_stated_tolerance_replaces_the_last_place(tmp_path: Path) -> None:
    for text in (
        GOOD.replace("unit: mm", 'unit: mm, tolerance: "0"'),
        GOOD.replace("agrees: true", 'tolerance: "0"\n    agrees: true'),
    ):
        (check,) = checks(tmp_path, text)
        assert run_check(check, lambda given: {"y": Fraction("1.501"), "word": "odd"}).agrees is False
        assert run_check(check, lambda given: {"y": Fraction("1.5"), "word": "odd"}).agrees is True


def test_a_difference_that_is_stated_is_as_stated(tmp_path: Path) -> None:
    (check,) = checks(tmp_path, GOOD.replace("agrees: true", "agrees: false\n    note: the source rounds twice"))
    outcome = run_check(check, lambda given: {"y": 2, "word": "odd"})
    assert (outcome.agrees, outcome.as_stated) == (False, True)
    assert run_check(check, lambda given: {"y": Fraction(3, 2), "word": "odd"}).as_stated is False


def test_a_word_must_be_met_exactly(tmp_path: Path) -> None:
    (check,) = checks(tmp_path, GOOD)
    outcome = run_check(check, lambda given: {"y": Fraction(3, 2), "word": "even"})
    assert [value.agrees for value in outcome.values] == [True, False]
    assert outcome.as_json()["values"][1] == {  # type: ignore[index]
        "name": "word",
        "printed": "odd",
        "computed": "even",
        "tolerance": None,
        "unit": "word",
        "agrees": False,
    }


@pytest.mark.parametrize(
    ("old", "new", "code"),
    [
        ("kind: worked", "kind: snapshot", "data.unknown-word"),
        ("unfasten-worked", "nowhere", "data.unknown-source"),
        ('printed: "1.5"', "printed: 1.5", "data.wrong-kind"),
        (", unit: mm", "", "data.missing-key"),
        ("agrees: true", "agrees: yes", "data.wrong-kind"),
        ("unit: mm", "unit: mm, tolerance: tiny", "data.wrong-kind"),
        ("given: {x: 3}", "given: {}", "data.wrong-kind"),
    ],
)
def test_reading_is_strict(tmp_path: Path, old: str, new: str, code: str) -> None:
    with pytest.raises(InvalidFileError) as caught:
        checks(tmp_path, GOOD.replace(old, new, 1))
    assert code in [problem.code for problem in caught.value.problems]


def test_kinds_are_not_mixed_and_ids_not_repeated(tmp_path: Path) -> None:
    twice = GOOD + GOOD.replace("checks:\n", "").replace("kind: worked", "kind: published")
    with pytest.raises(InvalidFileError) as caught:
        checks(tmp_path, twice)
    assert [problem.code for problem in caught.value.problems] == ["data.wrong-kind", "data.repeated-id"]


def test_a_model_id_is_bound_once() -> None:
    models = Models()
    models.model("half")(lambda given: {"y": given["x"] / 2})
    with pytest.raises(ValueError, match="two models are called half"):
        models.model("half")(lambda given: {})
