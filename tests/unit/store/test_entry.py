"""Entries: what their body keeps and what is refused."""

from __future__ import annotations

from datetime import UTC, datetime
from uuid import UUID

import pytest

from unfasten.store.entry import draft_of, head_of, placed

NOW = datetime(2026, 4, 1, 9, 0, tzinfo=UTC)
ID = UUID("00000000-0000-4000-8000-000000000001")


def test_body_keeps_order_and_letters() -> None:
    draft = draft_of("lamp", "note", {"b": "½ turn", "a": 1}, entry=ID, at=NOW)
    assert draft.body == '{"b":"½ turn","a":1}'
    assert placed(draft, 3).seq == 3


def test_a_time_without_offset_is_refused() -> None:
    with pytest.raises(ValueError, match="offset"):
        draft_of("lamp", "note", {}, entry=ID, at=datetime(2026, 4, 1))


def test_a_number_that_json_lacks_is_refused() -> None:
    with pytest.raises(ValueError, match="JSON"):
        draft_of("lamp", "note", {"mass": float("nan")}, entry=ID, at=NOW)


def test_edition_of_a_record_without_sheet_is_the_first() -> None:
    product = {"id": "lamp", "name": "Lamp", "maker": "Fellwright", "category": "other"}
    assert head_of({"product": product}).edition == 1
