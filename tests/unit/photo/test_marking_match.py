"""Comparing readings with a list: similarity, ambiguous characters, and nothing taken in silence."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import pytest

from unfasten.evidence.errors import CallError
from unfasten.evidence.fields import InvalidFileError
from unfasten.photo.identify.confirmation import confirm, read_confirmation
from unfasten.photo.identify.markings import ListedPart, compare, confusable, match_marking
from unfasten.photo.identify.ocr import Box, Line, MarkingReading
from unfasten.service.identify import read_parts

PARTS = (
    ListedPart("flash-128", "Flash memory 128", ("FW8G128A", "FW8G128B")),
    ListedPart("flash-64", "Flash memory 64", ("FW8G064A",)),
    ListedPart("radio", "Radio", ("FWR 10-7B",)),
)
SHA = "ab" * 32
AT = datetime(2026, 3, 2, 10, 0, tzinfo=UTC)
READING = MarkingReading(Box(1, 2, 30, 40), 90, (Line("FW86128A", 0.98, Box(2, 3, 20, 10)),))


@pytest.mark.parametrize(
    ("read", "listed", "similarity"),
    [
        ("FW8G128A", "fw8g-128 a", 100),
        ("FW86128A", "FW8G128A", 100 - 100 * 0.25 / 8),  # the misreadings that trials showed: G as 6, G as 0, D as 0
        ("FW80128A", "FW8G128A", 100 - 100 * 0.25 / 8),
        ("0ABC", "DABC", 100 - 100 * 0.25 / 4),
        ("FW8G12A", "FW8G128A", 87.5),
        ("FW8G1288A", "FW8G128A", 100 - 100 / 9),
        ("XXXX", "YYYY", 0),
        ("", "", 0),
        ("--", "FW", 0),
    ],
)
def test_similarity(read: str, listed: str, similarity: float) -> None:
    assert compare(read, listed)[0] == pytest.approx(similarity)
    assert compare(listed, read)[0] == pytest.approx(similarity)


def test_differences_name_the_place_and_what_is_ambiguous() -> None:
    _, differences = compare("FW86128", "FW8G128A")
    assert [str(one) for one in differences] == [
        "6 at place 4, listed G (often mistaken for it)",
        "A is missing before place 8",
    ]
    assert [one.confusable for one in differences] == [True, False]
    assert [str(one) for one in compare("AB2C", "ABC")[1]] == ["2 at place 3 is too many"]
    assert compare("ABC", "ABC")[1] == ()
    assert confusable("8", "B")
    assert not confusable("8", "X")


def test_candidates_are_ranked_and_none_is_taken() -> None:
    match = match_marking(["FELLWRIGHT", "FW8G12BA"], PARTS)
    assert [one.part for one in match.candidates] == ["flash-128", "flash-64"]
    best = match.candidates[0]
    assert best.only_ambiguous
    assert best.as_json()["confirmed"] is False
    assert match.says[-1].endswith("confirm one beside the crop")
    assert any("look at B at place 7, listed 8 (often mistaken for it)" in text for text in match.says)
    perfect = match_marking(["FW8G128A"], PARTS)
    assert perfect.candidates[0].similarity == 100
    assert perfect.candidates[0].as_json()["confirmed"] is False


def test_nearly_equal_candidates_are_told_with_where_they_differ() -> None:
    twins = (ListedPart("one", "One", ("FW8G128A",)), ListedPart("two", "Two", ("FWBG128A",)))
    match = match_marking(["FW8G128A"], twins)
    assert "one and two are nearly as similar: their markings differ in 8 or B" in match.says
    same = (ListedPart("one", "One", ("FW8",)), ListedPart("two", "Two", ("FW-8",)))
    assert any("the list gives both the same marking" in text for text in match_marking(["FW8"], same).says)


def test_a_marking_may_be_broken_over_lines() -> None:
    match = match_marking(["X", "FWR", "10-7B", "2615"], PARTS)
    best = match.candidates[0]
    assert (best.part, best.similarity, best.read) == ("radio", 100, "FWR10-7B")


def test_without_a_likeness_nothing_is_named() -> None:
    for lines in (["ZZZZZZ"], []):
        match = match_marking(lines, PARTS)
        assert match.candidates == ()
        assert match.says == ("no part of the list is at least 60 % similar",)


def test_a_confirmation_is_data_that_comes_back_whole() -> None:
    kept = confirm(READING, SHA, ["FW8G128A ", ""], " Ada ", AT, "flash-128", ["flash-128"])
    assert (kept.read, kept.confirmed, kept.by) == (("FW86128A",), ("FW8G128A",), "Ada")
    assert [str(one) for one in kept.corrections] == ["6 at place 4, listed G (often mistaken for it)"]
    assert read_confirmation(kept.as_json()) == kept
    alone = confirm(READING, SHA, ["FW8G128A"], "Ada", AT)
    assert read_confirmation(alone.as_json()) == alone


@pytest.mark.parametrize(
    ("change", "where"),
    [
        ({"by": "  "}, "by"),
        ({"lines": ["", " "]}, "confirmed"),
        ({"part": "flash-256"}, "part"),
        ({"photo": "none"}, "photo"),
        ({"at": datetime(2026, 3, 2)}, "at"),
    ],
)
def test_a_confirmation_needs_a_person_a_line_a_time_and_a_listed_part(change: dict[str, object], where: str) -> None:
    how = {"photo": SHA, "lines": ["FW8G128A"], "by": "Ada", "at": AT, "known_parts": ["flash-128"]} | change
    with pytest.raises(CallError) as caught:
        confirm(READING, **how)  # type: ignore[arg-type]
    assert (caught.value.code, caught.value.where) == ("identify.not-confirmed", where)


@pytest.mark.parametrize(
    "change",
    [{"by": None}, {"region": [1, 2]}, {"at": "yesterday"}, {"read": 3}, {"extra": 1}, {"confirmed": []}],
)
def test_a_confirmation_is_read_strictly(change: dict[str, object]) -> None:
    data = confirm(READING, SHA, ["FW8G128A"], "Ada", AT).as_json() | change
    if data.get("by") is None:
        del data["by"]
    with pytest.raises(CallError) as caught:
        read_confirmation(data)
    assert caught.value.code == "identify.not-confirmed"


def test_the_list_of_a_lab_is_read_strictly(tmp_path: Path) -> None:
    path = tmp_path / "parts.yaml"
    good = "format: unfasten-markings/1\nparts:\n  flash: {name: Flash, markings: [FW8G128A, '0012']}\n"
    path.write_text(good, encoding="utf-8")
    assert read_parts(path) == (ListedPart("flash", "Flash", ("FW8G128A", "0012")),)
    for old, new, code in (
        ("markings/1", "markings/9", "data.wrong-kind"),
        ("'0012'", "12", "data.wrong-kind"),
        ("'0012'", "'--'", "data.wrong-kind"),
        ("name: Flash", "nam: Flash", "data.unknown-key"),
        ("[FW8G128A, '0012']", "[]", "data.wrong-kind"),
    ):
        path.write_text(good.replace(old, new), encoding="utf-8")
        with pytest.raises(InvalidFileError) as caught:
            read_parts(path)
        assert code in [problem.code for problem in caught.value.problems]
