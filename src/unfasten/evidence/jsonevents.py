"""JSON text (RFC 8259) as a stream of events, read without recursion and with lines and columns."""

from __future__ import annotations

import re
from collections.abc import Iterator
from json.decoder import JSONDecodeError, scanstring  # type: ignore[attr-defined]
from typing import Final, Literal

from unfasten.evidence.events import Event, SyntaxProblem

_SPACE: Final = re.compile(r"[ \t\n\r]*")
_WORD: Final = re.compile(
    r"-?(?:0|[1-9][0-9]*)(?:\.[0-9]+)?(?:[eE][-+]?[0-9]+)?(?![0-9A-Za-z_.])|(?:true|false|null)\b"
)
_CLOSE: Final = {"map": "}", "list": "]"}


class _Lines:
    """Line and column of offsets that are asked for in order; nothing is kept of the lines passed."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.line = 1
        self.start = 0
        self.offset = 0

    def at(self, offset: int) -> tuple[int, int]:
        passed = self.text.count("\n", self.offset, offset)
        if passed:
            self.line += passed
            self.start = self.text.rfind("\n", self.offset, offset) + 1
        self.offset = offset
        return self.line, offset - self.start + 1


class _Scanner:
    """Walks over a JSON text; `state` is what may come next: a value, a key, or a comma."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.lines = _Lines(text)
        self.offset = 0
        self.open: list[str] = []

    def char(self) -> str:
        """Give the next character after white space; empty at the end."""
        self.offset = _SPACE.match(self.text, self.offset).end()  # type: ignore[union-attr]
        return self.text[self.offset : self.offset + 1]

    def fail(self, message: str, remedy: str) -> SyntaxProblem:
        line, column = self.lines.at(self.offset)
        return SyntaxProblem("data.json-syntax", f"{message} (column {column})", remedy, line, column)

    def string(self) -> Event:
        line, column = self.lines.at(self.offset)
        try:
            text, self.offset = scanstring(self.text, self.offset + 1, True)
        except JSONDecodeError as error:
            problem = "this text has no end" if "Unterminated" in error.msg else "this text holds a wrong escape"
            raise self.fail(problem, "close it with a double quote and escape only as JSON does") from error
        return Event("scalar", line, column, text, quoted=True)

    def word(self) -> Event:
        found = _WORD.match(self.text, self.offset)
        if found is None:
            raise self.fail("no JSON value stands here", "write a value, with text in double quotes")
        line, column = self.lines.at(self.offset)
        self.offset = found.end()
        return Event("scalar", line, column, found[0])

    def expect(self, wanted: str, message: str, remedy: str) -> None:
        if self.char() != wanted:
            raise self.fail(message, remedy)
        self.offset += 1


def json_events(text: str) -> Iterator[Event]:
    """Yield the events of a JSON text; raise `SyntaxProblem` where it is none."""
    scan = _Scanner(text)
    yield from _value(scan)
    while scan.open:
        yield from _member(scan)
    if scan.char():
        raise scan.fail("something stands after the end of the value", "keep one value per file")


def _value(scan: _Scanner) -> Iterator[Event]:
    char = scan.char()
    if char in ("{", "["):
        kind: Literal["map", "list"] = "map" if char == "{" else "list"
        line, column = scan.lines.at(scan.offset)
        scan.offset += 1
        yield Event(kind, line, column)
        yield from _first(scan, kind)
    else:
        yield scan.string() if char == '"' else scan.word()


def _first(scan: _Scanner, kind: str) -> Iterator[Event]:
    """Close an empty container at once, else open it for members."""
    if scan.char() == _CLOSE[kind]:
        line, column = scan.lines.at(scan.offset)
        scan.offset += 1
        yield Event("end", line, column)
        return
    scan.open.append(kind + " first")


def _member(scan: _Scanner) -> Iterator[Event]:
    """Yield the next member of the innermost open container, or its end."""
    kind, _, first = scan.open[-1].partition(" ")
    char = scan.char()
    if not first and char == _CLOSE[kind]:
        line, column = scan.lines.at(scan.offset)
        scan.offset += 1
        scan.open.pop()
        yield Event("end", line, column)
        return
    if not first:
        scan.expect(",", "a comma or the closing bracket is missing", f"write ',' or '{_CLOSE[kind]}'")
    scan.open[-1] = kind
    if kind == "map":
        if scan.char() != '"':
            raise scan.fail("a key is missing", "write a key in double quotes; no comma before a closing bracket")
        yield scan.string()
        scan.expect(":", "a colon is missing after the key", "write ':' between key and value")
    yield from _value(scan)
