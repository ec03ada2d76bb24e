"""Strictly read data files: YAML 1.2 (core schema) or JSON, every problem with its line, within fixed limits."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path as FilePath
from typing import Any, Final

from unfasten.evidence.errors import DataError
from unfasten.evidence.events import Event
from unfasten.evidence.filebytes import decode, read_limited
from unfasten.evidence.jsonevents import json_events
from unfasten.evidence.place import Path, place
from unfasten.evidence.problem import Problem
from unfasten.evidence.tree import TreeBuilder
from unfasten.evidence.yamlevents import yaml_events

_LOOKS_JSON: Final = re.compile(r'\s*\{\s*["}]')


@dataclass(frozen=True, slots=True)
class Document:
    """A tree of dict, list, str, int, float, bool and None; where its nodes stand; and what was wrong.

    `value` must not be changed: aliased nodes are shared. It is as much of the tree as could be read.
    """

    value: Any
    problems: tuple[Problem, ...] = ()
    marks: dict[Path, tuple[int, int]] = field(default_factory=dict)

    def line(self, path: Path) -> int | None:
        """Line (from 1) of a node or of the nearest node above it; None where the file has no lines."""
        for length in range(len(path), -1, -1):
            mark = self.marks.get(path[:length])
            if mark is not None:
                return mark[0]
        return None


def read_data(data: bytes, name: str = "") -> Document:
    """Read the bytes of a data file; `name` only tells JSON (`.json`) from YAML. Never raises on bad data."""
    text, problems = decode(data)
    if problems:
        return Document(None, tuple(problems))
    as_json = name.lower().endswith(".json")
    looks_json = _LOOKS_JSON.match(text) is not None
    if not as_json and not looks_json:
        return _built(text, yaml_events)
    found = _built(text, json_events)
    if as_json or not any(problem.code == "data.json-syntax" for problem in found.problems):
        return found
    in_yaml = _built(text, yaml_events)
    return found if any(problem.code == "data.yaml-syntax" for problem in in_yaml.problems) else in_yaml


def _built(text: str, events: Callable[[str], Iterator[Event]]) -> Document:
    tree = TreeBuilder()
    tree.build(events(text))
    if tree.empty and not tree.problems:
        tree.problems.append(Problem("data.empty", (), "the file is empty", "write at least one key"))
    return Document(tree.root, tuple(tree.problems), tree.marks)


def load_data(path: FilePath) -> Any:
    """Read one of the project's own data files; raise `DataError` with file, line and every problem."""
    document = read_data(read_limited(path), path.name)
    if not document.problems:
        return document.value
    first = document.problems[0]
    more = "".join(f"\n  {problem}" for problem in document.problems[1:])
    where = (
        f"{path.name}, line {first.line}, {place(first.path)}" if first.line else f"{path.name}, {place(first.path)}"
    )
    raise DataError(first.code, where, first.message, first.remedy + more)
