"""Two people on one record at the same time: what both said is kept, and who came later is told."""

from __future__ import annotations

from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any
from uuid import uuid4

import pytest
from tests.support.web import RECORD, Lab, line, lines, new_record, photo, running, settings

ROOM = f"/api/records/{RECORD}"


@pytest.fixture
def lab(tmp_path: Path, ledger_in: str) -> Iterator[Lab]:
    """A lab with a back cover on the sheet, which everybody has seen."""
    with running(settings(tmp_path)) as made:
        made.ask("POST", f"{ROOM}/lines", "cora", json=lines("part back-cover"))
        yield made


def seq(lab: Lab) -> int:
    """Number of the last entry."""
    return int(lab.ask("GET", f"{ROOM}/ledger", "rea").json()["seq"])


def say(lab: Lab, who: str, text: str, seen: int, **more: Any) -> Any:
    """Send one line, and give what became of it."""
    return lab.ask("POST", f"{ROOM}/lines", who, json={"lines": [line(text, seen=seen, **more)]}).json()["kept"][0]


def named(lab: Lab) -> str:
    """Name of the back cover as it stands."""
    return str(lab.ask("GET", ROOM, "rea").json()["record"]["parts"]["back-cover"]["name"])


def test_both_names_are_kept_and_the_later_author_is_told(lab: Lab) -> None:
    seen = seq(lab)
    first = say(lab, "cora", "parts.back-cover.name=Lid", seen)
    second = say(lab, "pia", "parts.back-cover.name=Shell", seen)
    assert "clash" not in first
    assert second["clash"].startswith("cora had changed parts.back-cover since you last saw it")
    assert second["ok"]
    assert named(lab) == "Shell"
    rows = lab.ask("GET", f"{ROOM}/ledger", "rea").json()["rows"]
    assert [(row["by"], row["text"]) for row in rows[-2:]] == [
        ("cora", "parts.back-cover.name=Lid"),
        ("pia", "parts.back-cover.name=Shell"),
    ]
    before = lab.ask("GET", f"{ROOM}?at={second['seq'] - 1}", "rea").json()["record"]
    assert before["parts"]["back-cover"]["name"] == "Lid"


def test_who_has_seen_the_other_is_not_told(lab: Lab) -> None:
    say(lab, "cora", "parts.back-cover.name=Lid", seq(lab))
    assert "clash" not in say(lab, "pia", "parts.back-cover.name=Shell", seq(lab))


def test_edits_of_different_objects_do_not_clash(lab: Lab) -> None:
    seen = seq(lab)
    say(lab, "cora", "part shield", seen)
    assert "clash" not in say(lab, "pia", "parts.back-cover.name=Shell", seen)


def test_undoing_the_later_one_brings_the_earlier_one_back(lab: Lab) -> None:
    seen = seq(lab)
    say(lab, "cora", "parts.back-cover.name=Lid", seen)
    later = say(lab, "pia", "parts.back-cover.name=Shell", seen)
    assert say(lab, "cora", f"undo {later['seq']}", seq(lab))["ok"]
    assert named(lab) == "Lid"


def test_call_outs_of_two_on_one_photo(lab: Lab) -> None:
    lab.ask("POST", f"{ROOM}/photos", "cora", files=photo())
    seen = seq(lab)
    sent = {who: {"A": {"shape": "point", "corners": [[10 * n, 5]]}} for n, who in enumerate(("cora", "pia"), 1)}
    told = []
    for who, made in sent.items():
        body = {"id": str(uuid4()), "at": "2026-04-01T10:00:00Z", "seen": seen, "call_outs": made}
        told.append(lab.ask("PUT", f"{ROOM}/photos/p-001/call-outs", who, json=body).json())
    assert "clash" not in told[0]
    assert told[1]["clash"].startswith("cora had changed photos.p-001")
    kept = [lab.ask("GET", f"{ROOM}?at={one['seq']}", "rea").json()["record"]["photos"]["p-001"] for one in told]
    assert [one["call_outs"] for one in kept] == list(sent.values())


def test_a_line_sent_again_adds_nothing_whoever_sends_it(lab: Lab) -> None:
    sent = {"lines": [line("note once")]}
    answers = [lab.ask("POST", f"{ROOM}/lines", who, json=sent).json()["kept"][0] for who in ("cora", "cora", "pia")]
    assert [one["new"] for one in answers] == [True, False, False]
    assert len({one["seq"] for one in answers}) == 1
    rows = lab.ask("GET", f"{ROOM}/ledger", "rea").json()["rows"]
    assert [row["by"] for row in rows if row["text"] == "note once"] == ["cora"]


def test_two_who_enter_at_the_same_moment_lose_nothing(lab: Lab) -> None:
    def enter(who: str) -> list[str]:
        said = [f"note {who} {number}" for number in range(15)]
        for text in said:
            assert say(lab, who, text, 0)["ok"]
        return said

    with ThreadPoolExecutor(2) as pool:
        cora, pia = pool.map(enter, ("cora", "pia"))
    rows = lab.ask("GET", f"{ROOM}/ledger", "rea").json()["rows"]
    by = {
        who: [row["text"] for row in rows if row["by"] == who and row["text"].startswith("note")]
        for who in ("cora", "pia")
    }
    assert by == {"cora": cora, "pia": pia}
    numbers = [row["seq"] for row in rows]
    assert numbers == sorted(set(numbers))


@pytest.mark.parametrize("twin", range(5))
def test_of_several_who_begin_a_record_at_the_same_moment_one_does(lab: Lab, twin: int) -> None:
    new = [new_record(f"twin-{twin}", name=f"Twin of {number}") for number in range(8)]
    with ThreadPoolExecutor(8) as pool:
        answers = list(pool.map(lambda one: lab.ask("POST", "/api/records", "cora", json=one), new))
    assert sorted(answer.status_code for answer in answers) == [201] + [422] * 7
    assert {answer.json().get("code") for answer in answers} == {None, "bench.record-exists"}
    assert len(lab.ask("GET", f"/api/records/twin-{twin}/ledger", "rea").json()["rows"]) == 1


def test_only_a_publisher_issues_the_sheet_or_takes_it_back(lab: Lab) -> None:
    def state() -> object:
        return lab.ask("GET", ROOM, "rea").json()["record"].get("sheet", {}).get("state")

    assert say(lab, "cora", "sheet.state=final", seq(lab))["code"] == "bench.not-a-publisher"
    assert state() is None
    issued = say(lab, "pia", "sheet.state=final", seq(lab))
    assert state() == "final"
    for text in (f"undo {issued['seq']}", "undo", "sheet.state=provisional"):
        assert say(lab, "cora", text, seq(lab))["code"] == "bench.not-a-publisher"
    taken_back = say(lab, "pia", f"undo {issued['seq']}", seq(lab))
    assert state() is None
    assert say(lab, "cora", f"undo {taken_back['seq']}", seq(lab))["code"] == "bench.not-a-publisher"
    assert state() is None
