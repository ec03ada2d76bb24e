"""Bench questions while the product lies open: the best ones, and an answer as a log entry."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from unfasten.record.record import Record
from unfasten.routes.opencover import OpenCover
from unfasten.service.askwords import meaning_text
from unfasten.service.line.sheet import Piece


@dataclass(frozen=True, slots=True)
class Asked:
    """A question on the bench, with what yes and no would say."""

    cover: OpenCover
    text: str
    yes: str
    no: str
    narrows: str
    while_open: bool

    @property
    def key(self) -> str:
        """Name by which a question is left open."""
        return ":".join(map(str, (self.cover.kind, self.cover.id, self.cover.way, self.cover.cover)))

    def as_json(self) -> dict[str, object]:
        """Give the JSON form."""
        return {
            "key": self.key,
            "text": self.text,
            "yes": self.yes,
            "no": self.no,
            "narrows": self.narrows,
            "while_open": self.while_open,
        }


def asked(record: Record, cover: OpenCover, text: str, narrows: str, *, while_open: bool) -> Asked:
    """Put a question with the meaning of both answers."""
    yes, no = (meaning_text(record, cover, covers=covers) for covers in (False, True))
    return Asked(cover, text, yes, no, narrows, while_open)


def answer_piece(question: Asked, yes: bool, clock: str | None) -> tuple[Piece, str]:
    """The log entry of an answer (yes: it can be done with the cover in place), and its words."""
    cover = question.cover
    entry: dict[str, Any] = {**({"at": clock} if clock else {}), "do": "found", cover.kind: cover.id}
    if cover.way is not None:
        entry["way"] = cover.way
    key = "clear_of" if yes else "under" if cover.kind == "joint" else "behind"
    entry[key] = [cover.cover]
    return Piece("log", {"entry": entry}), f"Answered {'yes' if yes else 'no'}: {question.yes if yes else question.no}"
