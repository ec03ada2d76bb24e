"""Tables of work times: strict reading, all problems at once, a user's entries in place of the shipped ones."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest

from unfasten.effort.tables import shipped, tables_with
from unfasten.evidence.fields import InvalidFileError

HEAD = "format: unfasten-worktime/1\ntitle: of our own\n"


def written(folder: Path, text: str) -> Path:
    path = folder / "own.yaml"
    path.write_text(HEAD + text, encoding="utf-8")
    return path


def codes(folder: Path, text: str) -> list[str]:
    with pytest.raises(InvalidFileError) as caught:
        tables_with(written(folder, text))
    return [problem.code for problem in caught.value.problems]


def test_nothing_that_ships_is_from_memory() -> None:
    tables = shipped()
    kept = [*tables.letters.values(), *tables.counted.values()]
    assert {entry.confidence for entry in kept} == {"B"}
    assert {unit.confidence for unit in tables.worksheet.values()} == {"A"}
    assert {operation.confidence for operation in tables.operations.values()} == {"own"}
    assert all(operation.why for operation in tables.operations.values())


def test_spot_values_of_the_data_card() -> None:
    process, spins = shipped().counted["X"], shipped().counted["L"]
    assert [process.index(Fraction(text)) for text in ("0", "0.5", "0.51", "4.5", "5", "7", "124")] == [
        0, 1, 3, 10, 16, 16, 330,
    ]  # fmt: skip
    assert process.index(Fraction("124.01")) is None
    assert [spins.index(Fraction(count)) for count in (1, 2, 3, 4, 8, 9, 61)] == [1, 3, 6, 10, 10, 16, 54]
    assert spins.index(Fraction(62)) is None


def test_entries_of_a_user_take_the_place_of_the_shipped_ones(tmp_path: Path) -> None:
    text = """\
operations:
  tape: {sequence: "A1 B0 G1 M3 X0 I0 A0", per: once, confidence: own}
screws: {turns_per_spin: {value: "0.5", unit: turn, confidence: own}}
study: {rating: {value: 110, unit: "%", confidence: own}, allowance_of: shift}
"""
    tables, base = tables_with(written(tmp_path, text)), shipped()
    assert tables.titles == (*base.titles, "of our own")
    assert tables.operations["tape"].sequence.total == 5
    assert tables.operations["screw"] == base.operations["screw"]
    assert tables.screws == {**base.screws, "turns_per_spin": Fraction("0.5")}
    assert (tables.study.rating, tables.study.allowance_of, tables.study.accuracy) == (110, "shift", 5)
    assert "tape" not in base.operations


@pytest.mark.parametrize("mark", ["C", "M", "NF"])
def test_a_figure_from_memory_is_refused(tmp_path: Path, mark: str) -> None:
    text = f"worksheet: {{tape: {{least: 1, most: 2, aside: 0, confidence: {mark}}}}}\n"
    assert codes(tmp_path, text) == ["worktime.from-memory"]


def test_all_problems_at_once(tmp_path: Path) -> None:
    text = """\
colour: red
letters: {Z: {meaning: z, confidence: B, rows: {P3: wrong letter}}}
counted: {L: {of: spins, unit: spin, confidence: B, limits: {L1: 5, L3: 2}}}
operations:
  clip: {sequence: "A1 B0 G1 A1 B0 P4 A0", per: each, confidence: own}
  tape: {sequence: "A1 B0", per: always, confidence: maybe}
  screw: {sequence: "A0 B0 G0 A1 B0 P3 L{turns} A1 B0 P1 A0", per: each, confidence: own}
screws: {turns_per_spin: {value: 0, unit: turn, confidence: own}}
worksheet: {clip: {least: 3, most: 2, aside: 0, confidence: A, source: nowhere}}
study: {rating: {value: 0, unit: "%", confidence: own}, allowance: {value: 100, unit: "%", confidence: own}}
"""
    found = codes(tmp_path, text)
    assert sorted(set(found)) == [
        "data.out-of-range", "data.unknown-key", "data.unknown-source", "data.unknown-word", "data.wrong-kind",
        "worktime.bad-sequence", "worktime.no-index",
    ]  # fmt: skip
    assert found.count("data.out-of-range") == 3
    assert found.count("worktime.no-index") == 2


def test_another_format_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "other.yaml"
    path.write_text("format: something/1\ntitle: x\n", encoding="utf-8")
    with pytest.raises(InvalidFileError) as caught:
        tables_with(path)
    assert "unfasten-worktime/1" in str(caught.value)
