"""Lines as they are kept in the ledger: one entry for the line as typed, and the entries that it stands for."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import lru_cache
from typing import Any, Final
from uuid import UUID, uuid5

from unfasten.record.entrybody import DROP, LOG, PUT, UNDO
from unfasten.record.ledger import Folder
from unfasten.service.line.sheet import Piece
from unfasten.store.entry import Draft, Entry, draft_of

LINE: Final = "line"


@dataclass(frozen=True, slots=True)
class Sent:
    """A line as a page sends it: `id` is chosen by the page, so that sending again adds nothing.

    `at` is the time of day when it was taken, `clock` the film's (`0:12:30`), `seen` the last entry that the page
    showed then, `mends` the id of an earlier line that this one replaces, `took` how long it took [s].
    """

    id: UUID
    line: str
    at: datetime
    clock: str | None = None
    seen: int = 0
    mends: UUID | None = None
    took: float | None = None


def line_draft(record: str, sent: Sent, by: str | None, words: str, pieces: int, **more: Any) -> Draft:
    """The entry that holds a line as it was typed and as it was understood."""
    body = {"text": sent.line, "words": words, "pieces": pieces, "clock": sent.clock, **more}
    return draft_of(record, LINE, body, entry=sent.id, at=sent.at, by=by)


def piece_drafts(
    folder: Folder[Entry], record: str, sent: Sent, by: str | None, pieces: Sequence[Piece], base: Mapping[str, str]
) -> list[Draft]:
    """The entries that a line stands for; a line that mends another takes the place of its log entry."""
    old_log = mended_log(folder, sent.mends) if sent.mends else None
    drafts = []
    for number, piece in enumerate(pieces):
        body, supersedes = piece.body, None
        if piece.kind in (PUT, DROP):
            body = {**body, "base": base.get(body["at"])}
        elif piece.kind == LOG and old_log is not None:
            supersedes, old_log = UUID(old_log), None
        entry = uuid5(sent.id, str(number))
        drafts.append(draft_of(record, piece.kind, body, entry=entry, at=sent.at, by=by, supersedes=supersedes))
    return drafts


def pieces_of(folder: Folder[Entry], line: UUID | str) -> list[Entry]:
    """The entries that a line stands for."""
    return [folder.entry(piece) for piece in piece_ids(str(line), int(folder.body(str(line)).get("pieces", 0)))]


@lru_cache(maxsize=100_000)
def piece_ids(line: str, count: int) -> tuple[str, ...]:
    """Ids of the entries that a line stands for."""
    return tuple(str(uuid5(UUID(line), str(number))) for number in range(count))


def mended_log(folder: Folder[Entry], line: UUID) -> str | None:
    """The log entry of the line that is mended, if it has one; a line that is not in the ledger has none."""
    if str(line) not in folder:
        return None
    return next((piece.id for piece in pieces_of(folder, line) if piece.kind == LOG), None)


def undo_drafts(record: str, sent: Sent, by: str | None, entries: Sequence[Entry]) -> list[Draft]:
    """The entries that withdraw others."""
    return [
        draft_of(record, UNDO, {}, entry=uuid5(sent.id, str(number)), at=sent.at, by=by, supersedes=UUID(entry.id))
        for number, entry in enumerate(entries)
    ]


def bases(folder: Folder[Entry], entries: Sequence[Entry], places: Sequence[str], seen: int) -> dict[str, str]:
    """The entry that an author who had seen the ledger up to `seen` had before him, for each place."""
    found: dict[str, str] = {} if folder.whole is None else dict.fromkeys(places, folder.whole.id)
    for entry in entries:
        if entry.kind in (PUT, DROP) and entry.seq <= seen:
            at = str(folder.body(entry.id)["at"])
            if at in places:
                found[at] = entry.id
    return found
