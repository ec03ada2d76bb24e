"""YAML text as a stream of events, from PyYAML's parser (its C parser where it is built in)."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, Final

import yaml

from unfasten.evidence.events import Event, SyntaxProblem

_LOADER: Final = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
#: part of the parser's message -> (our message, remedy)
_WORDS: Final = (
    ("mapping values are not allowed", "a ': ' stands where none may be", "put the text in quotes, or mend the indent"),
    ("could not find expected ':'", "a key has no colon", "write 'key: value', or mend the indent"),
    ("did not find expected key", "this line does not fit the lines above it", "mend the indent or close the bracket"),
    ("expected <block end>", "this line does not fit the lines above it", "mend the indent or close the bracket"),
    ("did not find expected '-'", "this line does not fit the list above it", "begin it with '- ', or mend the indent"),
    ("equence entries are not allowed", "a list cannot begin here", "put the list on lines of its own"),
    ("did not find expected ',' or", "a comma or the closing bracket is missing", "write ',' or close the bracket"),
    ("expected ',' or", "a comma or the closing bracket is missing", "write ',' or close the bracket"),
    (
        "expected <document start>",
        "this line does not go on what stands above it",
        "write 'key: value' lines, as YAML does",
    ),
    ("node content", "a value is missing here", "write a value, or delete the bracket or comma"),
    ("unexpected end of stream", "a quoted text has no end", "close the quotes"),
    ("escape", "this text holds a wrong escape", "use single quotes, or double the backslash"),
    ("alias", "an alias needs a name after the '*'", "put text that begins with '*' in quotes"),
    ("anchor", "an anchor needs a name after the '&'", "put text that begins with '&' in quotes"),
    ("cannot start any token", "no value can begin with this character", "put the text in quotes"),
    ("indentation indicator", "the number after '|' or '>' is wrong", "delete it"),
    ("incompatible", "this YAML version is not read", "delete the line that begins with '%'"),
    ("%YAML", "this YAML version is not read", "delete the line that begins with '%'"),
    ("version", "this YAML version is not read", "delete the line that begins with '%'"),
    ("directive", "this line begins with '%'", "delete the line, or put the text in quotes"),
)
_TAB: Final = "indent with spaces"


def yaml_events(text: str) -> Iterator[Event]:
    """Yield the events of the one document of a YAML text; raise `SyntaxProblem` where it cannot be read."""
    documents = 0
    try:
        for event in yaml.parse(text, Loader=_LOADER):
            if isinstance(event, yaml.DocumentStartEvent):
                documents += 1
                _check_document(event, documents)
            elif isinstance(event, yaml.NodeEvent):
                yield _node(event)
            elif isinstance(event, yaml.CollectionEndEvent):
                yield Event("end", *_position(event))
    except yaml.MarkedYAMLError as error:
        raise _syntax(error, text) from error
    except yaml.reader.ReaderError as error:
        message = "the text holds a character that YAML does not allow"
        raise SyntaxProblem("data.control-character", message, "delete this character", None, None) from error


def _node(event: Any) -> Event:
    """Translate a scalar, an alias or the start of a container; an explicit tag is refused."""
    line, column = _position(event)
    if isinstance(event, yaml.AliasEvent):
        return Event("alias", line, column, name=event.anchor)
    if event.tag is not None:
        message = f"the tag {event.tag[:60]!r} is not allowed"
        raise SyntaxProblem("data.tag", message, "delete the tag; quote the value if it is text", line, column)
    if isinstance(event, yaml.ScalarEvent):
        return Event("scalar", line, column, event.value, not event.implicit[0], event.anchor)
    return Event("map" if isinstance(event, yaml.MappingStartEvent) else "list", line, column, name=event.anchor)


def _position(event: Any) -> tuple[int, int]:
    return event.start_mark.line + 1, event.start_mark.column + 1


def _check_document(event: Any, count: int) -> None:
    line = event.start_mark.line + 1
    if count > 1:
        message = "a second document begins here"
        raise SyntaxProblem("data.several-documents", message, "keep one document per file; delete '---'", line, 1)
    if event.version is not None and tuple(event.version) != (1, 2):
        message = f"the file asks for YAML {'.'.join(map(str, event.version))}"
        raise SyntaxProblem("data.version", message, "delete the %YAML line: YAML 1.2 is read", line, 1)


def _syntax(error: yaml.MarkedYAMLError, text: str) -> SyntaxProblem:
    mark = error.problem_mark or error.context_mark
    last = text.rstrip("\n").count("\n") + 1
    line, column = (None, None) if mark is None else (min(mark.line + 1, last), mark.column + 1)
    said = f"{error.problem or ''} {error.context or ''}"
    if line is not None and _tab_indents(text, line):
        return SyntaxProblem("data.tab", "a tab stands in the indent", _TAB, line, column)
    if "nesting depth" in said:
        return SyntaxProblem(
            "data.too-deep", "lists and mappings are nested far too deep", "simplify the file", line, column
        )
    message, remedy = next(((ours, mend) for theirs, ours, mend in _WORDS if theirs in said), (said.strip(), ""))
    where = "" if mark is None or mark.line + 1 > last else f" (column {column})"
    start = error.context_mark
    if start is not None and line is not None and start.line + 1 < line:
        where += f", in what begins on line {start.line + 1}"
    remedy = remedy or "see whether a quote, bracket or indent is wrong here"
    return SyntaxProblem("data.yaml-syntax", message + where, remedy, line, column)


def _tab_indents(text: str, line: int) -> bool:
    """Whether the line, or the one before it, is indented with a tab."""
    lines = text.splitlines()[max(line - 2, 0) : line]
    return any("\t" in row[: len(row) - len(row.lstrip())] for row in lines)
