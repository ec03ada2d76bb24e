"""Figures and choices put from the photo page: one line each, kept once, withdrawn whole, told of a clash."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import UTC, date, datetime
from typing import Any
from uuid import uuid4

import pytest

from unfasten.evidence.errors import DataError
from unfasten.service.bench.begin import begin_record
from unfasten.service.bench.bench import Bench
from unfasten.service.bench.lines import Sent
from unfasten.service.line.sheet import Piece
from unfasten.store.memory import MemoryStore

NOW = datetime(2026, 6, 1, 9, 0, tzinfo=UTC)
NEW = {"id": "slab", "name": "Slab", "maker": "Fellwright", "category": "slate-tablet", "survey": "full"}
NEW["frame"] = "frame"
FIGURE = {"file": "a" * 64, "kind": "diameter", "name": "outer diameter", "value": "1.59 ± 0.02 mm"}


@pytest.fixture
def bench() -> Bench:
    store = MemoryStore()
    begin_record(store, NEW, at=NOW, by="anna")
    made = Bench(store, "slab", date(2026, 6, 1))
    made.take(Sent(uuid4(), "2 hex-3 holds cover frame", NOW), "anna")
    return made


def sent(bench: Bench, **more: Any) -> Sent:
    return Sent(**{"id": uuid4(), "line": "", "at": NOW, "seen": bench.seq, **more})


def threaded(tree: Mapping[str, Any], thread: str = "M1.6 x 0.35") -> tuple[Sequence[Piece], str]:
    joint = {**tree["joints"]["cover-screws"], "thread": thread}
    pieces = [
        Piece("put", {"at": f"measurements.m-{len(tree.get('measurements') or {}) + 1:03d}", "value": FIGURE}),
        Piece("put", {"at": "joints.cover-screws", "value": joint}),
    ]
    return pieces, f"Chosen: thread of cover-screws {thread}"


def test_a_figure_sent_again_adds_nothing_and_gives_the_same_id(bench: Bench) -> None:
    one = sent(bench)
    first = bench.add_measurements(one, "anna", [FIGURE])
    seq = bench.seq
    again = bench.add_measurements(one, "anna", [FIGURE])
    assert (first["ids"], again["ids"]) == (["m-001"], ["m-001"])
    assert (first["new"], again["new"]) == (True, False)
    assert bench.seq == seq
    assert list(bench.tree()["measurements"]) == ["m-001"]
    assert bench.add_measurements(sent(bench), "anna", [FIGURE])["ids"] == ["m-002"]


def test_a_choice_and_its_evidence_are_withdrawn_together(bench: Bench) -> None:
    kept = bench.put_line(sent(bench), "anna", threaded)
    assert kept["ids"] == ["m-001"]
    assert bench.tree()["joints"]["cover-screws"]["thread"] == "M1.6 x 0.35"
    assert bench.rows()[-1].words == "Chosen: thread of cover-screws M1.6 x 0.35"
    bench.take(sent(bench, line="undo"), "anna")
    assert "thread" not in bench.tree()["joints"]["cover-screws"]
    assert not bench.tree().get("measurements")


def test_who_had_not_seen_anothers_change_is_told(bench: Bench) -> None:
    seen = bench.seq
    bench.put_line(sent(bench), "berta", threaded)
    late = bench.put_line(sent(bench, seen=seen), "anna", lambda tree: threaded(tree, "M1.7 x 0.35"))
    assert "berta had changed joints.cover-screws" in late["clash"]
    assert bench.tree()["joints"]["cover-screws"]["thread"] == "M1.7 x 0.35"


def test_what_the_record_cannot_hold_is_refused_and_nothing_is_kept(bench: Bench) -> None:
    seq = bench.seq
    with pytest.raises(DataError) as caught:
        bench.put_line(
            sent(bench), "anna", lambda tree: ([Piece("put", {"at": "measurements.m-001", "value": {}})], "nothing")
        )
    assert caught.value.where.startswith("measurements.m-001")
    assert bench.seq == seq
