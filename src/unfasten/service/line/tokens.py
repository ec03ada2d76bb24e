"""Words of a typed line with their places, and the clauses they form."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

_TOKEN: Final = re.compile(r'"([^"]*)"?|(\S+)')


@dataclass(frozen=True, slots=True)
class Token:
    """A word, or a quoted text, with its place in the line [start, end)."""

    text: str
    start: int
    end: int
    quoted: bool = False


@dataclass(frozen=True, slots=True)
class Problem:
    """What cannot be understood, where in the line, and what to write instead."""

    start: int
    end: int
    message: str
    remedy: str

    def as_json(self) -> dict[str, object]:
        """Give the JSON form."""
        return {"start": self.start, "end": self.end, "message": self.message, "try": self.remedy}


@dataclass(frozen=True, slots=True)
class Clause:
    """A keyword and the words behind it."""

    key: str
    at: Token
    words: tuple[Token, ...]

    @property
    def text(self) -> str:
        """The words behind the keyword, with single blanks."""
        return " ".join(word.text for word in self.words)


def tokens_of(line: str) -> list[Token]:
    """Split a line at blanks; text in double quotes stays whole, and a comma at the end of a word is dropped.

    >>> [token.text for token in tokens_of('2 hex-3 holds back-cover, frame at "lower edge"')]
    ['2', 'hex-3', 'holds', 'back-cover', 'frame', 'at', 'lower edge']
    """
    found = []
    for match in _TOKEN.finditer(line):
        quoted = match.group(1) is not None
        text = match.group(1) if quoted else match.group(2).rstrip(",")
        if text or quoted:
            found.append(Token(text, match.start(), match.end(), quoted))
    return found


def clauses_of(tokens: Sequence[Token], keys: Iterable[str]) -> tuple[list[Token], list[Clause]]:
    """Split words into those before the first keyword, and a clause for each keyword."""
    known = frozenset(keys)
    head: list[Token] = []
    clauses: list[Clause] = []
    for token in tokens:
        if token.text in known and not token.quoted:
            clauses.append(Clause(token.text, token, ()))
        elif clauses:
            last = clauses[-1]
            clauses[-1] = Clause(last.key, last.at, (*last.words, token))
        else:
            head.append(token)
    return head, clauses
