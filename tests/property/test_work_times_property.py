"""Work times over many counts: indices rise with the count, times with the index, and observations behave as a mean."""

from __future__ import annotations

import json
from fractions import Fraction
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from unfasten.effort.predict import predict_way, worksheet_time
from unfasten.effort.sequence import read_sequence
from unfasten.effort.study import Pair, agreement, standard_time
from unfasten.effort.tables import shipped, tables_with
from unfasten.evidence.fields import InvalidFileError
from unfasten.record.joint import Joint

TENTHS = st.integers(1, 400).map(lambda tenths: Fraction(tenths, 10))


def screw(length: Fraction, count: int) -> Joint:
    tree = {"kind": "screw", "holds": ["a", "b"], "ways": [{"tools": ["t"]}], "count": count}
    return Joint.model_validate({**tree, "thread": "M1.4 x 0.3", "length": f"{float(length):.1f} mm"})


@given(st.sampled_from(["L", "X"]), st.fractions(0, 200), st.fractions(0, 200))
def test_the_index_rises_with_the_count_and_holds_it(letter: str, one: Fraction, two: Fraction) -> None:
    table = shipped().counted[letter]
    low, high = (table.index(count) for count in sorted((one, two)))
    assert high is None or (low is not None and low <= high)
    if low is not None:
        below = [index for index in table.limits if index < low]
        assert min(one, two) <= table.limits[low]
        assert all(table.limits[index] < min(one, two) for index in below)


@given(TENTHS, st.integers(1, 20))
def test_a_longer_screw_never_takes_less_and_n_screws_take_n_times(length: Fraction, count: int) -> None:
    tables = shipped()
    one, more, longer = (
        predict_way(made, made.ways[0], tables, "sequences").span
        for made in (screw(length, 1), screw(length, count), screw(length + Fraction(1, 10), 1))
    )
    assert longer is None or one is not None
    if one is not None:
        assert more == one.scaled(Fraction(count))
        assert one.low <= one.high
        assert longer is None or (one.low <= longer.low and one.high <= longer.high)


@given(st.lists(st.sampled_from([0, 1, 3, 6, 10, 16]), min_size=7, max_size=7))
def test_a_sequence_is_the_sum_of_its_indices(indices: list[int]) -> None:
    sequence = read_sequence(" ".join(f"{letter}{index}" for letter, index in zip("ABGABPA", indices, strict=True)))
    assert sequence.total == sum(indices)
    assert read_sequence(str(sequence)) == sequence


@given(TENTHS, st.integers(1, 30), TENTHS, TENTHS)
def test_a_worksheet_row_is_linear_in_its_repeats(
    tool: Fraction, times: int, removal: Fraction, aside: Fraction
) -> None:
    once = worksheet_time(tool, 1, removal, aside)
    assert worksheet_time(tool, times, removal, aside) == tool + times * (once - tool)


@settings(deadline=None)  # the first example imports a library
@given(st.lists(TENTHS, min_size=1, max_size=12), TENTHS, TENTHS)
def test_agreement_with_itself_is_perfect_and_scales(times: list[Fraction], one: Fraction, two: Fraction) -> None:
    low, high = sorted((one, two))
    same = agreement("x", [Pair("j", time, time, time) for time in times], 95, 5)
    assert (same.ratio, same.bias, same.error) == (pytest.approx(1.0), 0.0, 0.0)
    found = agreement("x", [Pair("j", time, low, high) for time in times], 95, 5)
    double = agreement("x", [Pair("j", 2 * time, low, high) for time in times], 95, 5)
    assert double.ratio == pytest.approx(2 * found.ratio)
    assert found.ratio_span[0] <= found.ratio * (1 + 1e-12)
    assert found.ratio <= found.ratio_span[1] * (1 + 1e-12)
    assert double.needed == found.needed or abs((double.needed or 0) - (found.needed or 0)) <= 1
    if found.bias_interval is not None:
        assert found.bias_interval[0] <= found.bias <= found.bias_interval[1]


@given(TENTHS, st.integers(0, 99))
def test_an_allowance_of_the_shift_is_never_less_than_of_the_job(normal: Fraction, percent: int) -> None:
    share = Fraction(percent)
    job, shift = standard_time(normal, share, "job"), standard_time(normal, share, "shift")
    assert normal <= job <= shift
    assert (job == shift) == (percent == 0)


KEYS = ["letters", "counted", "operations", "worksheet", "study", "screws", "unit", "refused", "colour"]
INNER = [
    "A",
    "L",
    "screw",
    "tape",
    "rating",
    "turns_per_spin",
    "tmu",
    "rows",
    "limits",
    "sequence",
    "per",
    "value",
    "confidence",
]
LEAVES = st.sampled_from(
    [None, True, 0, -1, 7, "1.5", "A1", "own", "each", "C", "A1 B0 G1 A1 B0 P1 A0", "L{spins}", [], {}]
)
TREES = st.recursive(
    LEAVES, lambda more: st.dictionaries(st.sampled_from(INNER), more, max_size=3) | st.lists(more, max_size=2)
)


@given(st.dictionaries(st.sampled_from(KEYS), TREES, max_size=4))
def test_any_file_is_read_or_refused_with_its_problems(tree: dict[str, Any]) -> None:
    with TemporaryDirectory() as folder:
        path = Path(folder) / "own.json"
        path.write_text(json.dumps({"format": "unfasten-worktime/1", "title": "own", **tree}), encoding="utf-8")
        try:
            tables = tables_with(path)
        except InvalidFileError:
            return
    made = screw(Fraction("2.4"), 1)
    found = predict_way(made, made.ways[0], tables, "sequences")
    assert found.span is not None or found.reason
