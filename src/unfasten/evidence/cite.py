"""Cites: where a published figure stands. The documents themselves are listed once, in `sources.yaml`."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Final

from unfasten.evidence.fields import Fields, Sheaf, open_file, unknown_remedy
from unfasten.evidence.place import Path as Place

SOURCES: Final = Path(__file__).parent / "sources.yaml"
_KEYS: Final = ("title", "issued_by", "edition", "celex", "read", "note")
_READ: Final = ("first-hand", "quoted", "own")


@dataclass(frozen=True, slots=True)
class Source:
    """A document that figures are taken from; `read` says how: first-hand, quoted by another, or our own."""

    id: str
    title: str
    issued_by: str
    edition: str
    read: str
    celex: str | None = None
    note: str | None = None


@dataclass(frozen=True, slots=True)
class Cite:
    """A place in a document: key of the source and the place as the document numbers it."""

    doc: str
    at: str

    def __str__(self) -> str:
        """Give document and place on one line."""
        return f"{self.doc}, {self.at}"


@cache
def sources() -> dict[str, Source]:
    """Every known document by its key; raises `InvalidFileError` if the list has errors."""
    data, sheaf = open_file(SOURCES)
    top = Fields(data, (), sheaf, ("sources",))
    found = {name: _source(name, item, path, sheaf) for path, name, item in top.pairs("sources")}
    sheaf.close()
    return found


def check_cite(cite: Cite, path: Place, sheaf: Sheaf) -> None:
    """Note a problem if the cite names a document that `sources.yaml` does not list."""
    if cite.doc and cite.doc not in sources():
        remedy = f"add it to {SOURCES.name}, or: {unknown_remedy(cite.doc, tuple(sources()))}"
        sheaf.add("data.unknown-source", path, f'no source "{cite.doc}"', remedy)


def _source(name: str, data: object, path: Place, sheaf: Sheaf) -> Source:
    fields = Fields(data, path, sheaf, _KEYS)
    return Source(
        id=name,
        title=fields.text("title"),
        issued_by=fields.text("issued_by"),
        edition=fields.text("edition"),
        read=fields.choice("read", _READ),
        celex=fields.text_or_none("celex"),
        note=fields.text_or_none("note"),
    )
