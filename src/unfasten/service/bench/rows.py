"""The ledger as it is read on the bench: a row for each line that was taken."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from unfasten.record.entrybody import PUT, PUT_RECORD
from unfasten.record.ledger import Folder
from unfasten.service.bench.lines import LINE, pieces_of
from unfasten.store.entry import Entry


@dataclass(frozen=True, slots=True)
class Row:
    """A row: `clock` is the film's time, `at` the time of day; `state` is empty, `withdrawn` or `mended`."""

    seq: int
    id: str
    at: str
    by: str
    clock: str
    text: str
    words: str
    state: str

    def as_json(self) -> dict[str, object]:
        """Give the JSON form."""
        return {name: getattr(self, name) for name in ("seq", "id", "at", "by", "clock", "text", "words", "state")}


def rows_of(folder: Folder[Entry], entries: Sequence[Entry], after: int = 0) -> list[Row]:
    """Rows of the lines and whole records after number `after`."""
    withdrawn = folder.withdrawn()
    lines = (folder.body(entry.id) for entry in entries if entry.kind == LINE)
    mended = {str(body["mends"]) for body in lines if body.get("mends")}
    rows = []
    for entry in entries:
        if entry.seq <= after:
            continue
        if entry.kind == LINE:
            body = folder.body(entry.id)
            pieces = pieces_of(folder, entry.id)
            gone = bool(pieces) and all(piece.id in withdrawn for piece in pieces)
            state = "withdrawn" if gone else "mended" if entry.id in mended else ""
            words = str(body.get("words") or body.get("text") or "")
            rows.append(_row(entry, str(body.get("clock") or ""), str(body.get("text") or ""), words, state))
        elif entry.kind == PUT_RECORD:
            log = folder.body(entry.id).get("log") or ()
            rows.append(_row(entry, "", "", f"Whole record put: {len(log)} log entries", ""))
            if folder.whole is not None and folder.whole.id == entry.id:
                rows += [replace(_row(entry, *_said(one), ""), id=f"{entry.id}:{n}") for n, one in enumerate(log)]
        elif entry.kind == PUT and str(folder.body(entry.id).get("at", "")).startswith("photos."):
            state = "withdrawn" if entry.id in withdrawn else ""
            body = folder.body(entry.id)
            name, value = str(body["at"]).partition(".")[2], body["value"]
            letters = ", ".join(value.get("call_outs") or ())
            words = f"Photo {name}, call-outs {letters}" if letters else f"Photo {name}"
            rows.append(_row(entry, str(value.get("at") or ""), "", words, state))
    return rows


def _said(entry: Mapping[str, Any]) -> tuple[str, str, str]:
    """Film's time, no typed text, and words of a log entry that came with a whole record."""
    about = entry.get("joint") or entry.get("part") or entry.get("bundle") or entry.get("swing") or ""
    words = f"{entry.get('do')} {about}".strip()
    text = entry.get("text")
    return str(entry.get("at") or ""), "", f"{words}: {text}" if text else words


def _row(entry: Entry, clock: str, text: str, words: str, state: str) -> Row:
    return Row(entry.seq, entry.id, entry.at, entry.by or "", clock, text, words, state)
