"""Sequences of motions: reading, order of letters, adding up."""

from __future__ import annotations

import pytest

from unfasten.effort.sequence import SequenceError, read_sequence


def test_reading_gives_back_what_was_written() -> None:
    text = "A1 B0 G1 A1 B0 P3 L{spins} A1 B0 P1 A0 + A1 B0 G1 M3 X0 I0 A0"
    assert str(read_sequence(text)) == text


def test_indices_add_up_and_times_multiply() -> None:
    sequence = read_sequence("A1 B0 G1 A1 B0 P3 A0")
    assert (sequence.total, sequence.tmu(10), sequence.tmu(10, 3)) == (6, 60, 180)


def test_an_open_index_has_to_be_filled() -> None:
    sequence = read_sequence("A1 B0 G1 A1 B0 P3 L{spins} A1 B0 P1 A0")
    assert sequence.names() == ("spins",)
    with pytest.raises(SequenceError, match="spins is not known yet"):
        sequence.tmu(10)
    with pytest.raises(SequenceError, match="spins is not given"):
        sequence.filled({})
    assert sequence.filled({"spins": 16}).total == 24


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "in the order of no sequence"),
        ("A1 B0 G1", "in the order of no sequence"),
        ("A1 B0 G1 A1 B0 P3 A0 +", "in the order of no sequence"),
        ("A1 G1 B0 A1 B0 P3 A0", "in the order of no sequence"),
        ("A1 B0 G1 A1 B0 P3 Z3 A1 B0 P1 A0", "in the order of no sequence"),
        ("A1 B0 G1 A1 B0 P A0", "is no letter with an index"),
        ("A1 B0 G1 A1 B0 P-3 A0", "is no letter with an index"),
        ("a1 b0 g1 a1 b0 p3 a0", "is no letter with an index"),
    ],
)
def test_what_is_no_sequence_is_refused(text: str, says: str) -> None:
    with pytest.raises(SequenceError, match=says):
        read_sequence(text)
