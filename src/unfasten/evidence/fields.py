"""Strict reading of a data file's tree, key by key: what is missing, unknown or of the wrong kind becomes a problem."""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from datetime import date
from fractions import Fraction
from pathlib import Path as FilePath
from typing import Any, Final

from unfasten.evidence.datafile import Document, read_data
from unfasten.evidence.errors import DataError
from unfasten.evidence.filebytes import read_limited
from unfasten.evidence.interval import exact
from unfasten.evidence.place import Path, shown
from unfasten.evidence.problem import Problem

_DAY: Final = re.compile(r"\d{4}-\d{2}-\d{2}", re.ASCII)


class InvalidFileError(DataError):
    """A data file of the program has errors; `problems` holds all of them."""

    def __init__(self, name: str, problems: Sequence[Problem]) -> None:
        text = "; ".join(str(problem) for problem in problems)
        super().__init__("data.file-invalid", name, text, "mend the file and run again")
        self.problems = tuple(problems)


@dataclass
class Sheaf:
    """The problems found so far in the file `name`; `document` tells their lines where it is known."""

    name: str
    document: Document | None = None
    problems: list[Problem] = field(default_factory=list)

    def add(self, code: str, path: Path, message: str, remedy: str) -> None:
        """Note one more problem at a place of the file."""
        line = None if self.document is None else self.document.line(path)
        self.problems.append(Problem(code, path, message, remedy, line))

    def close(self) -> None:
        """Raise `InvalidFileError` with every problem, if there is any."""
        if self.problems:
            raise InvalidFileError(self.name, self.problems)


def open_file(path: FilePath) -> tuple[Any, Sheaf]:
    """Read one of the program's own data files: its tree, and a sheaf that knows its lines.

    Raises `InvalidFileError` if the file is not even readable as data.
    """
    document = read_data(read_limited(path), path.name)
    sheaf = Sheaf(path.name, document, list(document.problems))
    sheaf.close()
    return document.value, sheaf


class Fields:
    """A mapping read key by key. Whatever is wrong is noted in the sheaf and a harmless stand-in is given.

    `known` are the keys that may stand there; any other is a problem with a did-you-mean.
    """

    def __init__(self, data: object, path: Path, sheaf: Sheaf, known: Sequence[str]) -> None:
        self.path = path
        self.sheaf = sheaf
        self.data: dict[str, object] = {}
        if not isinstance(data, dict):
            sheaf.add("data.no-mapping", path, f"{shown(data)} is no mapping", f"write the keys {', '.join(known)}")
            return
        self.data = {str(key): value for key, value in data.items()}
        for key in self.data:
            if key not in known:
                sheaf.add("data.unknown-key", (*path, key), "unknown key", unknown_remedy(key, known))

    def has(self, key: str) -> bool:
        """Tell whether the key stands there with a value."""
        return self.data.get(key) is not None

    def text(self, key: str) -> str:
        """The text under a key that must be there."""
        value = self._needed(key)
        if value is None:
            return ""
        if not isinstance(value, str) or not value.strip():
            self.wrong(key, "text")
            return ""
        return value

    def text_or_none(self, key: str) -> str | None:
        """The text under a key that may be left out."""
        return self.text(key) if self.has(key) else None

    def choice(self, key: str, allowed: Sequence[str]) -> str:
        """One of the allowed words."""
        value = self.text(key)
        if value and value not in allowed:
            message = f"{shown(value)} is not allowed"
            self.sheaf.add("data.unknown-word", (*self.path, key), message, unknown_remedy(value, allowed))
        return value

    def day(self, key: str) -> date:
        """The day (YYYY-MM-DD) under a key that must be there."""
        return self._day(key, self._needed(key)) or date.min

    def day_or_none(self, key: str) -> date | None:
        """The day under a key that may be left out or empty."""
        return self._day(key, self.data[key]) if self.has(key) else None

    def number(self, key: str) -> Fraction:
        """The exact number under a key that must be there."""
        value = self._needed(key)
        try:
            return Fraction(0) if value is None else exact(value)
        except ValueError:
            self.wrong(key, "a number")
            return Fraction(0)

    def flag(self, key: str) -> bool:
        """The truth value under a key that must be there."""
        value = self._needed(key)
        if value is not None and not isinstance(value, bool):
            self.wrong(key, "true or false")
        return value is True

    def items(self, key: str) -> Iterator[tuple[Path, object]]:
        """The members of a list that must be there and not be empty, each with its place."""
        value = self._needed(key)
        if value is None:
            return
        if not isinstance(value, list) or not value:
            self.wrong(key, "a list with at least one member")
            return
        for number, item in enumerate(value):
            yield (*self.path, key, number), item

    def pairs(self, key: str) -> Iterator[tuple[Path, str, object]]:
        """The members of a mapping that must be there and not be empty, each with its place and key."""
        value = self._needed(key)
        if value is None:
            return
        if not isinstance(value, dict) or not value:
            self.wrong(key, "a mapping with at least one key")
            return
        for name, item in value.items():
            yield (*self.path, key, str(name)), str(name), item

    def wrong(self, key: str, wanted: str) -> None:
        """Note that the value under a key is of the wrong kind."""
        message = f"{shown(self.data.get(key))} is not what belongs here"
        self.sheaf.add("data.wrong-kind", (*self.path, key), message, f"write {wanted}")

    def _needed(self, key: str) -> object:
        value = self.data.get(key)
        if value is None:
            self.sheaf.add("data.missing-key", self.path, f"{key!r} is missing", f"add {key!r}")
        return value

    def _day(self, key: str, value: object) -> date | None:
        if isinstance(value, date):
            return value
        if isinstance(value, str) and _DAY.fullmatch(value):
            try:
                return date.fromisoformat(value)
            except ValueError:
                pass
        if value is not None:
            self.wrong(key, "a day as YYYY-MM-DD")
        return None


def unknown_remedy(word: str, known: Sequence[str]) -> str:
    """What to do about a word that is not known: the nearest known one, or all of them.

    >>> unknown_remedy("basik", ["basic", "commercial"])
    'did you mean "basic"?'
    """
    near = difflib.get_close_matches(word, known, n=1)
    return f'did you mean "{near[0]}"?' if near else f"use one of {', '.join(known)}"
