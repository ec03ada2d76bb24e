"""The stream of events from which a data tree is built: one form for YAML and for JSON."""

from __future__ import annotations

from typing import Literal, NamedTuple

Kind = Literal["map", "list", "end", "scalar", "alias"]


class Event(NamedTuple):
    """One event: `map` and `list` open, `end` closes either; `line` and `column` count from 1.

    `quoted` scalars are text as they stand; others are words whose meaning the core schema gives. `name` is the
    anchor of a node, or what an alias points to.
    """

    kind: Kind
    line: int
    column: int
    text: str = ""
    quoted: bool = False
    name: str | None = None


class SyntaxProblem(Exception):  # noqa: N818 - it carries a problem and is turned into one
    """The text cannot be read past this place."""

    def __init__(self, code: str, message: str, remedy: str, line: int | None, column: int | None) -> None:
        super().__init__(message)
        self.code = code
        self.message = message
        self.remedy = remedy
        self.line = line
        self.column = column
