"""Unquoted words mean what the core schema of YAML 1.2 (revision 1.2.2, section 10.3.2) says."""

from __future__ import annotations

import pytest

from unfasten.evidence.plain import PlainError, plain_value

MEANINGS = [
    ("", None),
    ("~", None),
    ("null", None),
    ("Null", None),
    ("nUll", "nUll"),
    ("true", True),
    ("FALSE", False),
    ("yes", "yes"),
    ("no", "no"),
    ("on", "on"),
    ("0:50", "0:50"),
    ("0:00:50", "0:00:50"),
    ("2026-03-02", "2026-03-02"),
    ("012", 12),
    ("-7", -7),
    ("+7", 7),
    ("0o14", 12),
    ("0x1F", 31),
    ("1_000", "1_000"),
    ("1.", 1.0),
    (".5", 0.5),
    ("3.87", 3.87),
    ("1e3", 1000.0),
    ("1e", "1e"),
    ("14 s", "14 s"),
    ("-", "-"),
    (".", "."),
    ("<<", "<<"),
]


@pytest.mark.parametrize(("word", "value"), MEANINGS, ids=[word or "empty" for word, _ in MEANINGS])
def test_meaning(word: str, value: object) -> None:
    got = plain_value(word)
    assert got == value
    assert type(got) is type(value)


@pytest.mark.parametrize(
    ("word", "code"),
    [
        (".inf", "data.not-finite"),
        ("-.INF", "data.not-finite"),
        (".NaN", "data.not-finite"),
        ("1e999", "data.not-finite"),
        ("9" * 19, "data.number-too-long"),
        ("0x" + "f" * 17, "data.number-too-long"),
        ("1." + "3" * 60, "data.number-too-long"),
    ],
)
def test_numbers_that_are_refused(word: str, code: str) -> None:
    with pytest.raises(PlainError) as caught:
        plain_value(word)
    assert caught.value.code == code
    assert caught.value.remedy
