"""A record on the bench: takes lines, keeps them in the ledger, and answers at once what they mean."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from threading import RLock
from typing import Any, Final
from uuid import UUID, uuid5

from unfasten.evidence.errors import CallError, DataError
from unfasten.record.entrybody import LOG, PUT, UNDO
from unfasten.record.ledger import Folder
from unfasten.service.bench.answers import Answers, Assessor
from unfasten.service.bench.lines import LINE, Sent, bases, line_draft, piece_drafts, pieces_of, undo_drafts
from unfasten.service.bench.photos import entry_shown, film_time, fresh_ids
from unfasten.service.bench.present import present
from unfasten.service.bench.questions import answer_piece
from unfasten.service.bench.rows import Row, rows_of
from unfasten.service.bench.value import check_value
from unfasten.service.line.complete import complete
from unfasten.service.line.read import Reading, read_line
from unfasten.service.line.sheet import Piece
from unfasten.store.accept import EntriesInvalid, check_drafts
from unfasten.store.contract import Store
from unfasten.store.entry import Draft, Entry, Kept, draft_of

#: what is written where a line that came late could not be understood
UNREAD: Final = "not understood, kept as typed: "


@dataclass(frozen=True, slots=True)
class Taken:
    """What became of a line: its number in the ledger, its words, and a clash of which the author is told."""

    id: str
    seq: int
    ok: bool
    words: str
    new: bool
    clash: str | None = None

    def as_json(self) -> dict[str, object]:
        """Give the JSON form."""
        out: dict[str, object] = {"id": self.id, "seq": self.seq, "ok": self.ok, "words": self.words, "new": self.new}
        return out | ({"clash": self.clash} if self.clash else {})


class Bench:
    """One record, kept in step with its ledger. May be used by several threads.

    Raises `DataError` (`store.unknown-record`) if the store does not hold the record.
    """

    def __init__(self, store: Store, record: str, on: date) -> None:
        self.store = store
        self.record = record
        self._lock = RLock()
        self._folder: Folder[Entry] = Folder()
        self._entries: list[Entry] = []
        self._assessor = Assessor(on)
        self._before: tuple[str, Mapping[str, Any]] | None = None
        self.refresh()

    # ---- the ledger --------------------------------------------------------------------------------------------------

    def refresh(self) -> int:
        """Take in what others have added; give the number of the last entry."""
        with self._lock:
            for entry in self.store.entries(self.record, after=self._folder.seq):
                self._folder.add(entry)
                self._entries.append(entry)
            return self._folder.seq

    @property
    def seq(self) -> int:
        """Number of the last entry taken in."""
        return self._folder.seq

    def tree(self) -> Mapping[str, Any]:
        """The record's present plain tree; not to be changed."""
        with self._lock:
            return self._folder.peek()

    def before(self) -> Mapping[str, Any]:
        """The predecessor's plain tree, empty where the workspace holds none."""
        name = str((self.tree().get("product") or {}).get("predecessor") or "")
        if self._before is None or self._before[0] != name:
            if name not in {head.id for head in self.store.records()}:
                return {}  # it may be put into the workspace later
            self._before = (name, self.store.record(name))
        return self._before[1]

    def rows(self, after: int = 0) -> list[Row]:
        """The ledger as lines to read, oldest first, from the entry that follows number `after`."""
        with self._lock:
            return rows_of(self._folder, self._entries, after)

    # ---- lines -------------------------------------------------------------------------------------------------------

    def understand(self, line: str, caret: int | None = None, clock: str | None = None) -> dict[str, object]:
        """Say what a line would enter, and what may stand at the caret; nothing is kept."""
        reading = self._read(line, clock)
        words = reading.words or self._command_words(reading)
        at = len(line) if caret is None else caret
        return reading.as_json() | {"words": words, "completions": complete(line, at, self.tree(), self.before())}

    def take(self, sent: Sent, by: str | None, *, may_issue: bool = True) -> Taken:
        """Keep a line; when this returns, it is on disk. The same line sent again adds nothing.

        The sheet's state, edition and approval are changed by those only who may issue it (`may_issue`).

        A line that cannot be understood is kept as a note that says so: what was typed while the server was away is
        never refused. Raises `CallError` for a line that asks for what cannot be done (undo of nothing).
        """
        with self._lock:
            self.refresh()
            if str(sent.id) in self._folder:
                return self._again(self._folder.entry(str(sent.id)))
            drafts, words, ok = self._drafts(sent, by)
            if not may_issue and any(self._place(draft) == "sheet" for draft in drafts):
                remedy = "ask a publisher to issue the sheet"
                raise CallError("bench.not-a-publisher", "sheet", "only a publisher changes the sheet's state", remedy)
            try:
                check_drafts(drafts)
            except EntriesInvalid:  # such as another id for the product: what was typed is kept all the same
                drafts, words, ok = *self._as_note(sent, by), False
            kept = self.store.append(*drafts)
            self.refresh()
            return Taken(str(sent.id), kept[0].entry.seq, ok, words, True, _told(kept))

    def _again(self, held: Entry) -> Taken:
        """A line that is held already: nothing is added, and a clash is told again."""
        entries = [held, *pieces_of(self._folder, held.id)]
        fields = ("id", "record", "at", "by", "kind", "body", "supersedes")
        kept = self.store.append(*(Draft(**{name: getattr(one, name) for name in fields}) for one in entries))
        return Taken(held.id, held.seq, True, str(held.tree.get("words", "")), False, _told(kept))

    def _as_note(self, sent: Sent, by: str | None) -> tuple[list[Draft], str]:
        """A line that cannot be entered, as a note of what was typed."""
        text = f"{UNREAD}{sent.line.strip()}"
        pieces = [Piece("log", {"entry": _timed({"do": "note", "text": text}, sent.clock)})]
        drafts = piece_drafts(self._folder, self.record, sent, by, pieces, {})
        return [line_draft(self.record, sent, by, text, len(drafts)), *drafts], text

    def _place(self, entry: Draft | Entry) -> object:
        """The place of the object that an entry puts or drops, or that it withdraws or brings back."""
        while entry.kind == UNDO and entry.supersedes is not None:
            entry = self._folder.entry(entry.supersedes)
        return entry.tree.get("at")

    def _drafts(self, sent: Sent, by: str | None) -> tuple[list[Draft], str, bool]:
        reading = self._read(sent.line, sent.clock, sent.took)
        if reading.command is not None and reading.command[0] == "undo":
            return self._undo(sent, by, reading.command[1])
        pieces: Sequence[Piece] = reading.pieces
        words, ok = reading.words, reading.ok
        if reading.command is not None:
            pieces, words = self._command(sent, reading.command)
        elif not reading.ok:
            if not sent.line.strip():
                raise CallError("bench.empty-line", "line", "nothing was typed", "write what was done")
            return (*self._as_note(sent, by), False)
        more = {"mends": str(sent.mends)} if sent.mends else {}
        places = [piece.body["at"] for piece in pieces if "at" in piece.body]
        base = bases(self._folder, self._entries, places, sent.seen)
        drafts = piece_drafts(self._folder, self.record, sent, by, pieces, base)
        return [line_draft(self.record, sent, by, words, len(drafts), **more), *drafts], words, ok

    def _undo(self, sent: Sent, by: str | None, number: str) -> tuple[list[Draft], str, bool]:
        line = self._line_to_undo(number)
        drafts = undo_drafts(self.record, sent, by, list(reversed(pieces_of(self._folder, line.id))))
        words = f"Withdrawn: {line.tree.get('words') or line.tree.get('text')}"
        first = line_draft(self.record, sent, by, words, len(drafts), withdraws=line.id)
        return [first, *drafts], words, True

    def _line_to_undo(self, number: str) -> Entry:
        lines = (e for e in reversed(self._entries) if e.kind == LINE and self._folder.body(e.id).get("pieces", 0))
        if number:
            found = next((entry for entry in lines if entry.seq == int(number)), None)
        else:
            gone = self._folder.withdrawn()
            own = (entry for entry in lines if "withdraws" not in self._folder.body(entry.id))
            found = next((e for e in own if all(one.id not in gone for one in pieces_of(self._folder, e.id))), None)
        if found is None:
            what = f"the ledger has no line {number}" if number else "there is nothing left to withdraw"
            raise CallError("bench.nothing-to-undo", "undo", what, "take the number from the ledger beside the sheet")
        return found

    def _command(self, sent: Sent, command: tuple[str, str]) -> tuple[Sequence[Piece], str]:
        kind, value = command
        if kind == "clock":
            return [Piece("clock", {"film": value, "day": sent.at.isoformat()})], f"The film is at {value}"
        question = self._assessor.asked()
        if question is None:
            raise CallError(
                "bench.no-question", value, "no question is open", "record on; questions come by themselves"
            )
        if value == "unsure":
            return [Piece("unsure", {"question": question.key})], f"Left open: {question.text}"
        piece, words = answer_piece(question, value == "yes", sent.clock)
        return [piece], words

    def _command_words(self, reading: Reading) -> str:
        if reading.command is None:
            return ""
        kind, value = reading.command
        if kind == "undo":
            try:
                line = self._line_to_undo(value)
            except CallError as error:
                return error.message
            return f"Withdraw: {line.tree.get('words') or line.tree.get('text')}"
        if kind == "clock":
            return f"Set the clock to {value} of the film"
        question = self._assessor.asked()
        return f"{value}: {question.text}" if question else "No question is open"

    def _read(self, line: str, clock: str | None, took: float | None = None) -> Reading:
        tree = self.tree()
        return read_line(line, tree, self.before(), at=clock, side=present(tree).side, took=took)

    # ---- photos ------------------------------------------------------------------------------------------------------

    def add_photo(self, sent: Sent, by: str | None, photo: Mapping[str, Any], ahead_s: float = 0.0) -> dict[str, Any]:
        """Put a photo on the sheet and tie it to the log entry that it shows; the same file is put once.

        `photo` has `file` (SHA-256), `width`, `height` [px] and may have `name` and `taken` (aware, ISO 8601); without
        `taken` it counts as taken at `sent.clock`.
        """
        with self._lock:
            self.refresh()
            tree = self._folder.peek()
            held = {one.get("file"): name for name, one in (tree.get("photos") or {}).items()}
            if photo["file"] in held:
                return {"id": held[photo["file"]], "new": False}
            taken = photo.get("taken")
            film = film_time(self._entries, datetime.fromisoformat(taken), ahead_s) if taken else sent.clock
            name = fresh_ids(tree.get("photos") or {}, "p")[0]
            value = {**photo, **({"at": film} if film else {}), **({"by": by} if by else {})}
            shown = entry_shown(tree.get("log") or (), film) if film else None
            drafts = [
                draft_of(self.record, PUT, {"at": f"photos.{name}", "value": value}, entry=sent.id, at=sent.at, by=by)
            ]
            if shown is not None:
                drafts += self._tie(sent, by, name, shown)
            self.store.append(*drafts)
            self.refresh()
            return {"id": name, "new": True, "at": film, "entry": shown}

    def _tie(self, sent: Sent, by: str | None, photo: str, shown: int) -> list[Draft]:
        """The correction that gives a log entry its photo; an entry that came with a whole record is left as it is."""
        state = self._folder.state()
        origin = state.log_ids[shown]
        if self._folder.entry(origin).kind != LOG:
            return []
        entry = {**state.tree["log"][shown], "photo": photo}
        made = uuid5(sent.id, "tie")
        return [draft_of(self.record, LOG, {"entry": entry}, entry=made, at=sent.at, by=by, supersedes=UUID(origin))]

    def set_call_outs(self, sent: Sent, by: str | None, photo: str, call_outs: Mapping[str, Any]) -> Taken:
        """Put the call-outs of a photo; who had not seen the last ones is told, and both stay in the ledger.

        Raises `DataError` (`bench.no-photo`) for an unknown photo, and for call-outs that the record cannot hold.
        """
        with self._lock:
            self.refresh()
            tree = self._folder.peek()
            old = (tree.get("photos") or {}).get(photo)
            if old is None:
                raise DataError("bench.no-photo", photo, "the record has no such photo", "load the page anew")
            value = {**old, "call_outs": dict(call_outs)}
            check_value(tree, "photos", photo, value)
            at = f"photos.{photo}"
            base = bases(self._folder, self._entries, [at], sent.seen).get(at)
            body = {"at": at, "value": value, "base": base}
            kept = self.store.append(draft_of(self.record, PUT, body, entry=sent.id, at=sent.at, by=by))[0]
            self.refresh()
            return Taken(
                str(sent.id), kept.entry.seq, True, f"{len(call_outs)} call-outs on {photo}", True, _told([kept])
            )

    def add_measurements(self, sent: Sent, by: str | None, figures: Sequence[Mapping[str, Any]]) -> dict[str, Any]:
        """Put figures measured on a photo on the sheet, under ids of their own, as one line that can be withdrawn."""
        told = (f"{one['name']}{' of ' + one['of'] if one.get('of') else ''} {one['value']}" for one in figures)
        words = f"Measured: {', '.join(told)}"

        def pieces(tree: Mapping[str, Any]) -> tuple[Sequence[Piece], str]:
            names = fresh_ids(tree.get("measurements") or {}, "m", len(figures))
            both = zip(names, figures, strict=True)
            return [Piece("put", {"at": f"measurements.{name}", "value": dict(one)}) for name, one in both], words

        return self.put_line(sent, by, pieces)

    def put_line(
        self, sent: Sent, by: str | None, make: Callable[[Mapping[str, Any]], tuple[Sequence[Piece], str]]
    ) -> dict[str, Any]:
        """Put objects on the sheet as one line that can be withdrawn; `make` gives them, and their words, of the tree.

        Sent again it adds nothing. `ids` of the answer are those of its measurements. Raises `DataError` for an object
        that the record cannot hold.
        """
        with self._lock:
            self.refresh()
            if str(sent.id) in self._folder:
                held = self._folder.entry(str(sent.id))
                taken, places = self._again(held), [str(one.tree["at"]) for one in pieces_of(self._folder, held.id)]
            else:
                tree = self._folder.peek()
                pieces, words = make(tree)
                places = [str(piece.body["at"]) for piece in pieces]
                for place, piece in zip(places, pieces, strict=True):
                    section, _, name = place.partition(".")
                    check_value(tree, section, name, piece.body["value"])
                base = bases(self._folder, self._entries, places, sent.seen)
                drafts = piece_drafts(self._folder, self.record, sent, by, pieces, base)
                kept = self.store.append(line_draft(self.record, sent, by, words, len(drafts)), *drafts)
                self.refresh()
                taken = Taken(str(sent.id), kept[0].entry.seq, True, words, True, _told(kept))
            ids = [place.partition(".")[2] for place in places if place.startswith("measurements.")]
            return taken.as_json() | {"ids": ids}

    # ---- answers -----------------------------------------------------------------------------------------------------

    def answers(self) -> Answers:
        """What the record as it stands means: places, routes, index, findings, and what is expected next."""
        with self._lock:
            self.refresh()
            state, unsure = self._folder.state(), self._unsure()
        return self._assessor.answers(state.seq, state.tree, self.before(), unsure)

    def with_questions(self, answers: Answers, *, search: bool = True) -> Answers:
        """The same answers with the bench questions; with `search` in their exact order, which may take longer."""
        return replace(answers, questions=self._assessor.questions(answers, search=search))

    def _unsure(self) -> frozenset[str]:
        withdrawn = self._folder.withdrawn()
        said = (e for e in self._entries if e.kind == "unsure" and e.id not in withdrawn)
        return frozenset(str(entry.tree.get("question")) for entry in said)


def _timed(entry: dict[str, Any], clock: str | None) -> dict[str, Any]:
    return {"at": clock, **entry} if clock else entry


def _told(kept: Sequence[Kept]) -> str | None:
    """What the author is told of entries that came between."""
    clash = next((one.clash for one in kept if one.clash is not None), None)
    if clash is None:
        return None
    place = clash.tree.get("at") if clash.kind == PUT else None
    who = clash.by or "another bench"
    return f"{who} had changed {place or 'this'} since you last saw it (entry {clash.seq}); both are kept, yours stands"
