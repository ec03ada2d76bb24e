"""Building a plain tree from events, without recursion and within limits, with the place of every node."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any, Final

from unfasten.evidence.events import Event, SyntaxProblem
from unfasten.evidence.filebytes import SIZE_LIMIT
from unfasten.evidence.place import Path, shown
from unfasten.evidence.plain import PlainError, plain_value
from unfasten.evidence.problem import Problem

DEPTH_LIMIT: Final = 40
NODE_LIMIT: Final = 200_000
#: largest number of problems that are told; more are counted
PROBLEM_LIMIT: Final = 500
_UNSAFE: Final = re.compile("[\\x00-\\x08\\x0b\\x0c\\x0e-\\x1f\\x7f-\\x9f\\ud800-\\udfff]")
#: stands for a key whose value is read and then dropped
_DROP: Final = "\0"


@dataclass(slots=True)
class _Size:
    """What a node takes when every alias is written out: nodes, characters, levels."""

    nodes: int = 0
    chars: int = 0
    height: int = 0


@dataclass(slots=True)
class _Open:
    """A container under construction."""

    node: Any
    path: Path
    anchor: str | None
    before: _Size
    key: str | None = None
    height: int = 1
    lines: dict[str, int] = field(default_factory=dict)
    is_key: bool = False


class _Stop(Exception):  # noqa: N818 - control flow inside this module
    """Reading on would break a limit."""


class TreeBuilder:
    """Takes events, holds the tree (`root`), the place of each node (`marks`) and the problems."""

    def __init__(self) -> None:
        self.root: Any = None
        self.empty = True
        self.marks: dict[Path, tuple[int, int]] = {}
        self.problems: list[Problem] = []
        self._stack: list[_Open] = []
        self._anchors: dict[str, tuple[Any, _Size]] = {}
        self._total = _Size()

    def build(self, events: Iterator[Event]) -> None:
        """Build the whole tree; what stops the reading is added to the problems."""
        try:
            self._take_all(events)
        except _Stop:
            return

    def _take_all(self, events: Iterator[Event]) -> None:
        try:
            for event in events:
                self._take(event)
        except SyntaxProblem as stop:
            if stop.code != "data.several-documents":
                self.root = None
            self._problem(stop.code, self._here(), stop.message, stop.remedy, stop.line, stop.column)

    def _take(self, event: Event) -> None:
        if event.kind == "end":
            self._close()
        elif self._wants_key():
            self._take_key(event)
        elif event.kind == "scalar":
            self._count(len(event.text), event)
            path = self._mark(event)
            self._put(self._scalar(event, path), event.name, _Size(1, len(event.text), 0))
        elif event.kind == "alias":
            self._alias(event)
        else:
            self._open(event, self._mark(event))

    def _wants_key(self) -> bool:
        return bool(self._stack) and isinstance(self._stack[-1].node, dict) and self._stack[-1].key is None

    def _take_key(self, event: Event) -> None:
        top = self._stack[-1]
        if event.kind in ("map", "list"):
            self._at(event, "data.key-not-text", top.path, "a key is a list or mapping", "write a plain word as key")
            self._open(event, (*top.path, "?"), is_key=True)
            return
        key = self._key_text(event, top.path)
        if event.name is not None and event.kind == "scalar":
            self._anchors[event.name] = (key, _Size(1, len(key), 0))
        self._count(len(key), event)
        if key == _DROP:
            top.key = _DROP
            return
        if key in top.lines:
            message = f"the key {shown(key)} stands twice (first on line {top.lines[key]})"
            self._at(event, "data.repeated-key", (*top.path, key), message, "keep one of the two")
            top.key = _DROP
            return
        top.lines[key] = event.line
        top.key = key
        self.marks.setdefault((*top.path, key), (event.line, event.column))

    def _key_text(self, event: Event, path: Path) -> str:
        if event.kind == "alias":
            value, _ = self._anchors.get(event.name or "", (None, None))
            if isinstance(value, str):
                return value
            self._at(event, "data.key-not-text", path, "a key is an alias", "write the key out")
            return f"*{event.name}"
        if event.quoted:
            self._check_text(event, (*path, event.text))
            return event.text
        if event.text == "<<":
            mend = "write the keys out, or alias the whole value"
            self._at(event, "data.merge-key", path, "the merge key '<<' is not part of YAML 1.2", mend)
            return _DROP
        if not isinstance(self._plain(event, path), str):
            message = f"the key {event.text[:40] or '(empty)'} is no text"
            self._at(event, "data.key-not-text", path, message, "put the key in quotes")
        return event.text

    def _scalar(self, event: Event, path: Path) -> Any:
        if event.quoted:
            self._check_text(event, path)
            return event.text
        return self._plain(event, path)

    def _plain(self, event: Event, path: Path) -> Any:
        try:
            return plain_value(event.text)
        except PlainError as error:
            self._at(event, error.code, path, error.message, error.remedy)
            return None

    def _check_text(self, event: Event, path: Path) -> None:
        found = _UNSAFE.search(event.text)
        if found is not None:
            message = f"the text holds the control character U+{ord(found[0]):04X}"
            self._at(event, "data.control-character", path, message, "delete its escape")

    def _mark(self, event: Event) -> Path:
        """Give the path of the node that begins here; items of lists are marked, keys have been."""
        if not self._stack:
            self.marks[()] = (event.line, event.column)
            return ()
        top = self._stack[-1]
        if isinstance(top.node, dict):
            return (*top.path, "?" if top.key == _DROP else top.key or "")
        path = (*top.path, len(top.node))
        self.marks.setdefault(path, (event.line, event.column))
        return path

    def _open(self, event: Event, path: Path, *, is_key: bool = False) -> None:
        if len(self._stack) >= DEPTH_LIMIT:
            self._stop(event, "data.too-deep", f"lists and mappings are nested more than {DEPTH_LIMIT} deep")
        self._count(0, event)
        before = _Size(self._total.nodes - 1, self._total.chars)
        node: Any = {} if event.kind == "map" else []
        self._stack.append(_Open(node, path, event.name, before, is_key=is_key))

    def _close(self) -> None:
        done = self._stack.pop()
        size = _Size(self._total.nodes - done.before.nodes, self._total.chars - done.before.chars, done.height)
        if done.is_key:
            self._stack[-1].key = _DROP
        else:
            self._put(done.node, done.anchor, size)

    def _put(self, value: Any, anchor: str | None, size: _Size) -> None:
        """Hang a finished value into the innermost open container."""
        self.empty = False
        if anchor is not None:
            self._anchors[anchor] = (value, size)
        if not self._stack:
            self.root = value
            return
        top = self._stack[-1]
        top.height = max(top.height, size.height + 1)
        if isinstance(top.node, list):
            top.node.append(value)
            return
        if top.key is not None and top.key != _DROP:
            top.node[top.key] = value
        top.key = None

    def _alias(self, event: Event) -> None:
        path = self._mark(event)
        name = event.name or ""
        if any(container.anchor == name for container in self._stack):
            self._stop(event, "data.loop", f"the alias *{name[:40]} stands inside its own anchor")
        if name not in self._anchors:
            message = f"no anchor &{name[:40]} stands before this alias"
            self._at(event, "data.unknown-alias", path, message, "define the anchor, or quote text with '*'")
            self._put(None, None, _Size(1, 0, 0))
            return
        value, size = self._anchors[name]
        if len(self._stack) + size.height > DEPTH_LIMIT:
            self._stop(event, "data.too-deep", f"with its aliases written out, the file is over {DEPTH_LIMIT} deep")
        self._count(size.chars, event, size.nodes)
        self._put(value, None, size)

    def _count(self, chars: int, event: Event, nodes: int = 1) -> None:
        self._total.nodes += nodes
        self._total.chars += chars
        if self._total.nodes > NODE_LIMIT or self._total.chars > SIZE_LIMIT:
            what = f"with its aliases written out, the file holds more than {NODE_LIMIT} values or 8 MB of text"
            self._stop(event, "data.too-large", what)

    def _stop(self, event: Event, code: str, message: str) -> None:
        # a path as deep as the limit is no help to a reader
        self.problems.append(Problem(code, self._here()[:8], message, "simplify the file", event.line, event.column))
        raise _Stop

    def _here(self) -> Path:
        """Path of the value that is being read."""
        if not self._stack:
            return ()
        top = self._stack[-1]
        return top.path if top.key is None or top.key == _DROP else (*top.path, top.key)

    def _at(self, event: Event, code: str, path: Path, message: str, remedy: str) -> None:
        self._problem(code, path, message, remedy, event.line, event.column)

    def _problem(self, code: str, path: Path, message: str, remedy: str, line: int | None, column: int | None) -> None:
        self.problems.append(Problem(code, path, message, remedy, line, column))
        if len(self.problems) >= PROBLEM_LIMIT:
            more = Problem("data.too-many", (), f"reading stopped after {PROBLEM_LIMIT} problems", "mend these first")
            self.problems.append(more)
            raise _Stop
