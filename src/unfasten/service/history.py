"""The ledger of a record as a list to read: what each entry did, and whether it still holds."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from unfasten.evidence.errors import CallError
from unfasten.record.entrybody import DROP, LOG, PUT, PUT_RECORD, UNDO

if TYPE_CHECKING:
    from unfasten.store.contract import Store
    from unfasten.store.entry import Entry


@dataclass(frozen=True, slots=True)
class HistoryLine:
    """An entry in words. `corrects` and `undone_by` are numbers of entries, None where there is none."""

    seq: int
    id: str
    at: str
    by: str | None
    kind: str
    says: str
    corrects: int | None
    undone_by: int | None

    def as_json(self) -> dict[str, object]:
        """Give the JSON form."""
        names = ("seq", "id", "at", "by", "kind", "says", "corrects", "undone_by")
        return {name: getattr(self, name) for name in names}


def history(store: Store, record: str) -> tuple[HistoryLine, ...]:
    """Give the ledger of a record, oldest entry first."""
    from unfasten.store.folders import folded

    entries = store.entries(record)
    numbers = {entry.id: entry.seq for entry in entries}
    undone = folded(entries).withdrawn()
    return tuple(_line(entry, numbers, undone) for entry in entries)


def past(store: Store, record: str, seq: int) -> dict[str, Any]:
    """Give the tree of a record as it stood after entry `seq`; `CallError` for an entry that there is not."""
    last = store.state(record).seq
    if not 1 <= seq <= last:
        raise CallError("history.no-entry", f"--at {seq}", f"{record} has entries 1 to {last}", "name one of them")
    return store.state(record, upto_seq=seq).tree


def _line(entry: Entry, numbers: Mapping[str, int], undone: Mapping[str, str]) -> HistoryLine:
    corrects = numbers[entry.supersedes] if entry.supersedes else None
    undone_by = numbers[undone[entry.id]] if entry.id in undone else None
    return HistoryLine(
        entry.seq, entry.id, entry.at, entry.by, entry.kind, _says(entry, numbers), corrects, undone_by
    )  # fmt: skip


def _says(entry: Entry, numbers: Mapping[str, int]) -> str:
    body = entry.tree
    if entry.kind == PUT_RECORD:
        counts = [f"{len(body.get(key, ()))} {key}" for key in ("parts", "joints")]
        return f"whole record: {', '.join(counts)}, {len(body.get('log', ()))} log entries"
    if entry.kind in (PUT, DROP):
        return str(body["at"])
    if entry.kind == LOG:
        return _log_words(body["entry"])
    if entry.kind == UNDO:
        return f"entry {numbers.get(entry.supersedes or '', 0)}"
    if body.get("words") or body.get("text"):
        return " ".join(str(body.get("words") or body.get("text")).split())
    return ", ".join(f"{key} {_short(value)}" for key, value in list(body.items())[:4])


def _log_words(entry: Mapping[str, Any]) -> str:
    words: Sequence[Any] = [entry.get("do"), *(entry.get(key) for key in ("joint", "part", "bundle", "swing", "text"))]
    said = " ".join(_short(word) for word in words if word is not None)
    return f"{entry['at']} {said}" if isinstance(entry.get("at"), str) else said


def _short(value: object) -> str:
    text = " ".join(str(value).split())
    return text if len(text) <= 80 else f"{text[:79]}…"
