"""Candidates for what was measured, in one form, and a choice as facts of a record with its evidence beside it."""

from __future__ import annotations

from datetime import date, datetime
from typing import Any

import numpy as np
import pytest
from tests.support.mat_photo import mat_photo, png_of, round_picks

from unfasten.evidence.errors import CallError
from unfasten.photo.identify.confirmation import Confirmation
from unfasten.photo.identify.datecode import Reading
from unfasten.photo.identify.ocr import Box
from unfasten.photo.open import open_photo
from unfasten.record.read import read_tree
from unfasten.service.identify import identify_thread
from unfasten.service.measure import measure_photo
from unfasten.service.measurekeep import again_of
from unfasten.service.measurepicks import Measured
from unfasten.service.namekeep import choice_pieces, marking_pieces
from unfasten.service.naming import Choice, candidates_for, date_codes, fact_of, read_week

DAY = date(2026, 11, 25)
TREE: dict[str, Any] = {
    "format": "unfasten-record/1",
    "product": {"id": "tarn-11", "name": "Tarn 11", "maker": "Fellwright", "category": "slate-tablet"},
    "parts": {
        "frame": {"name": "Midframe", "stays": True},
        "board": {"name": "Board", "components": [{"function": "storage", "marking": "128G-U"}]},
    },
    "joints": {"board-screws": {"kind": "screw", "holds": ["board", "frame"], "ways": [{}], "drive": "hexalobular 3"}},
    "photos": {"p-001": {"file": "0" * 64, "call_outs": {"A": {"shape": "point", "corners": [[1, 2]]}}}},
}


def after(tree: dict[str, Any], pieces: Any) -> dict[str, Any]:
    """The tree with what the pieces put."""
    made = {key: dict(value) if isinstance(value, dict) else value for key, value in tree.items()}
    for piece in pieces:
        section, _, name = piece.body["at"].partition(".")
        made.setdefault(section, {})[name] = piece.body["value"]
    return made


def measured(kind: str = "distance") -> Measured:
    picture, camera = mat_photo()
    picks = round_picks(camera.seen(np.array([[90.0, 80], [110, 80]])))
    done = measure_photo(open_photo(png_of(picture), "bench.png"), "bench.png", {"kind": kind, "readings": [picks]})
    assert isinstance(done, Measured)
    return done


def test_every_candidate_is_ranked_by_how_well_it_agrees_and_none_is_chosen() -> None:
    found = candidates_for("thread", {"diameter": "1.59 ± 0.02 mm", "pitch": "0.35 ± 0.01 mm"}, DAY)
    assert [one.enters for one in found.candidates] == ["M1.7 x 0.35", "M1.6 x 0.35"]
    shares = [one.agreement for one in found.candidates]
    # 0.006 mm below M1.7 (1.596) are 0.3 u, 0.009 mm above M1.6 (1.581) are 0.45 u: erfc(z / sqrt 2), normal table
    assert shares == [pytest.approx(76.4, abs=0.1), pytest.approx(65.3, abs=0.1)]
    assert "several threads fit; none is chosen" in found.says
    assert any("told apart: M1.7 and M1.6" in text for text in found.says)
    assert not any("chosen" in key for one in found.as_json()["candidates"] for key in one)  # type: ignore[attr-defined]


def test_the_page_and_the_command_ask_the_same() -> None:
    given = {"diameter": "2.17 ± 0.01 mm", "length": "2.25 ± 0.02 mm", "turns": 5}
    here = candidates_for("thread", given, DAY).as_json()["candidates"]
    there = identify_thread("2.17 ± 0.01 mm", DAY, None, "2.25 ± 0.02 mm", 5).as_json()["candidates"]
    assert isinstance(here, list)
    assert isinstance(there, list)
    assert [(one["name"], one["agreement_percent"]) for one in here] == [
        (one["name"], one["agreement_percent"]) for one in there
    ]


def test_few_readings_leave_more_candidates() -> None:
    given = {"diameter": "1.560 ± 0.010 mm", "pitch": "0.35 ± 0.01 mm"}
    assert [one.name for one in candidates_for("thread", given, DAY).candidates] == ["M1.6"]
    # M1.7 begins 0.036 mm above: within 4.3 u, the factor of two degrees of freedom (JCGM 100, table G.2)
    few = candidates_for("thread", given, DAY, k=4.30)
    assert [one.name for one in few.candidates] == ["M1.6", "M1.7", "#0-80"]
    assert few.candidates[1].agreement == pytest.approx(9.4, abs=0.1)


def test_drives_and_packages() -> None:
    drive = candidates_for("drive", {"points": "1.27 ± 0.03 mm", "shape": "hexalobular"}, DAY)
    assert [one.enters for one in drive.candidates] == ["hexalobular 4", "hexalobular 3"]
    package = candidates_for("package", {"side": "13.01 ± 0.05 mm", "other": "11.52 ± 0.05 mm"}, DAY)
    assert [one.name for one in package.candidates] == ["BGA-153"]
    assert package.candidates[0].limits["side"].low == pytest.approx(11.4)


@pytest.mark.parametrize(
    ("what", "given", "code"),
    [
        ("thread", {"pitch": "0.35 ± 0.01 mm"}, "identify.missing"),
        ("thread", {"diameter": "1.6 mm"}, "identify.no-uncertainty"),
        ("drive", {"shape": "hexalobular"}, "identify.missing"),
        ("drive", {"points": "1.3 ± 0.1 mm", "shape": "round"}, "identify.missing"),
        ("package", {"side": "11.5 ± 0.1 mm", "other": ""}, "identify.missing"),
    ],
)
def test_what_is_missing_is_said(what: Any, given: dict[str, Any], code: str) -> None:
    with pytest.raises(CallError) as caught:
        candidates_for(what, given, DAY)
    assert caught.value.code == code


def test_a_choice_becomes_a_fact_of_the_joint_with_photo_and_measurement_as_evidence() -> None:
    done = {"diameter": measured()}
    found = candidates_for("thread", {"diameter": "1.59 ± 0.02 mm"}, DAY)
    made = choice_pieces(TREE, done, found, Choice("M1.6", joint="board-screws"))
    tree = after(TREE, made.pieces)
    record = read_tree(tree).record
    assert record is not None
    joint = record.joints["board-screws"]
    assert (joint.thread, joint.drive) == ("M1.6 x 0.35", "hexalobular 3")
    kept = record.measurements["m-001"]
    assert kept.file == done["diameter"].photo.sha256
    assert kept.name == "outer diameter of board-screws"
    assert kept.taken_for is not None
    assert kept.taken_for.chosen == "M1.6 x 0.35"
    assert kept.taken_for.among == tuple(one.name for one in found.candidates)
    assert kept.taken_for.place == made.place == "joints.board-screws.thread"
    assert "also possible: M1.7" in made.words
    (one,) = again_of(record.measurements, done["diameter"].photo, ())
    assert one.same


def test_a_choice_of_ones_own_is_entered_and_said_to_be_none_of_the_candidates() -> None:
    found = candidates_for("thread", {"diameter": "1.59 ± 0.02 mm"}, DAY)
    made = choice_pieces(TREE, {"diameter": measured()}, found, Choice("thread-forming 1.6", joint="board-screws"))
    assert after(TREE, made.pieces)["joints"]["board-screws"]["thread"] == "thread-forming 1.6"
    assert "not among the candidates" in made.words


def test_a_package_becomes_a_component_of_the_part() -> None:
    found = candidates_for("package", {"side": "13.01 ± 0.05 mm", "other": "11.52 ± 0.05 mm"}, DAY)
    fact = fact_of(TREE, found, Choice("BGA-153", part="board", function="storage"))
    assert fact.place == "parts.board.components[0].package"
    (component,) = fact.value["components"]
    assert component["marking"] == "128G-U"
    assert (component["package"], component["size"]) == ("BGA-153", ["11.520 ± 0.050 mm", "13.010 ± 0.050 mm"])
    other = fact_of(TREE, found, Choice("BGA-153", part="board", function="memory"))
    assert [one["function"] for one in other.value["components"]] == ["storage", "memory"]


@pytest.mark.parametrize(
    ("what", "choice", "where"),
    [
        ("thread", Choice("M1.6"), "joint"),
        ("thread", Choice("M1.6", joint="no-such"), "joint"),
        ("package", Choice("BGA-153", function="storage"), "part"),
        ("package", Choice("BGA-153", part="board"), "function"),
        ("thread", Choice("  ", joint="board-screws"), "chosen"),
    ],
)
def test_a_choice_without_a_place_is_refused(what: Any, choice: Choice, where: str) -> None:
    given = {"diameter": "1.59 ± 0.02 mm", "side": "13 ± 0.1 mm", "other": "11.5 ± 0.1 mm"}
    wanted = {key: given[key] for key in (("diameter",) if what == "thread" else ("side", "other"))}
    with pytest.raises(CallError) as caught:
        fact_of(TREE, candidates_for(what, wanted, DAY), choice)
    assert caught.value.where == where


def confirmation(*lines: str, read: tuple[str, ...] = ()) -> Confirmation:
    at = datetime.fromisoformat("2026-11-25T10:00:00+00:00")
    return Confirmation("0" * 64, Box(10, 20, 300, 100), 0, read, lines, None, "cora", at)


def test_a_confirmed_marking_stands_on_the_component_and_on_the_photo() -> None:
    week = read_week("2547", 2025, DAY)
    kept = confirmation("128G-U", "2547", read=("1Z8G-U", "2547"))
    made = marking_pieces(TREE, "p-001", kept, "board", "storage", ("2547", week))
    tree = after(TREE, made.pieces)
    assert read_tree(tree).record is not None
    (component,) = tree["parts"]["board"]["components"]
    assert (component["marking"], component["date_code"]) == ("128G-U / 2547", "2547 (2025-W47)")
    mark = tree["photos"]["p-001"]["call_outs"]["B"]
    assert mark["about"] == "parts.board"
    assert mark["corners"] == [[10, 20], [310, 120]]
    assert mark["text"] == (
        "marking 128G-U / 2547, date code 2547 (2025-W47); proposed: 1Z8G-U / 2547; confirmed by cora"
    )
    assert "A" in tree["photos"]["p-001"]["call_outs"]


def test_a_marking_without_a_component_stands_on_the_part_or_on_the_photo_alone() -> None:
    part = after(TREE, marking_pieces(TREE, "p-001", confirmation("WM7"), "board", None, None).pieces)
    assert part["parts"]["board"]["marking"] == "WM7"
    alone = marking_pieces(TREE, "p-001", confirmation("WM7"), None, None, None)
    assert [piece.body["at"] for piece in alone.pieces] == ["photos.p-001"]


def test_date_readings_of_a_confirmed_marking_are_listed_with_reasons() -> None:
    (code,) = date_codes("FWA11 2547 / K2546", DAY)
    assert [(one.year, one.week) for one in code.readings] == [(2025, 47)]
    assert [(one.year, one.reason) for one in code.excluded] == [(1925, "before 1960 no such part was made")]
    (none,) = date_codes("2553", DAY)
    assert none.readings == ()
    assert date_codes("FWA11", DAY) == ()


def test_a_week_that_the_code_cannot_mean_is_refused() -> None:
    assert isinstance(read_week("2547", 2025, DAY), Reading)
    with pytest.raises(CallError, match="the part existed on 2024-01-01"):
        read_week("2547", 2025, date(2024, 1, 1))
    with pytest.raises(CallError, match="does not name 2031"):
        read_week("2547", 2031, DAY)
