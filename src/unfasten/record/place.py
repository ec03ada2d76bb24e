"""Remarks on a record before they become findings, and the places that the models' errors speak of."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from typing import Any, Final, Literal, NamedTuple

from unfasten.evidence.place import WHOLE, Path, place
from unfasten.record.finding import Finding

#: largest number of findings that are told; more are counted
FINDING_LIMIT: Final = 500
#: gives the line of a path in the file, if there is one
LineOf = Callable[[Path], int | None]


class Remark(NamedTuple):
    """What is to be said about a node of the record's tree."""

    path: Path
    code: str
    message: str
    remedy: str


def no_line(path: Path) -> int | None:
    """Give no line: for records that were not read from a file."""
    return None


def findings(level: Literal["error", "warning"], remarks: Iterable[Remark], line_of: LineOf) -> tuple[Finding, ...]:
    """Turn remarks into findings, each with its place and line."""
    return tuple(
        Finding(level, remark.code, place(remark.path), remark.message, remark.remedy, line_of(remark.path))
        for remark in remarks
    )


def limited(found: Sequence[Finding]) -> tuple[Finding, ...]:
    """Give the findings, of very many only the first, with one more that counts the rest."""
    if len(found) <= FINDING_LIMIT:
        return tuple(found)
    message = f"{len(found) - FINDING_LIMIT} more findings are not listed"
    return (*found[:FINDING_LIMIT], Finding(found[0].level, "record.too-many", WHOLE, message, "mend these first"))


def node_at(tree: Any, path: Path) -> Any:
    """Give the node at `path`, or None where the tree has none."""
    for step in path:
        if isinstance(tree, dict):
            tree = tree.get(step)
        elif isinstance(tree, list) and isinstance(step, int) and step < len(tree):
            tree = tree[step]
        else:
            return None
    return tree


def path_in(tree: Any, loc: tuple[int | str, ...], *, missing: bool = False) -> Path:
    """Give the path in the tree that an error's `loc` means: without union tags and the mark of a key.

    With `missing` the last step names what is not there, and stays.
    """
    steps = [step for index, step in enumerate(loc) if not (index == 2 and loc[0] == "log" and isinstance(step, str))]
    end = steps.pop() if missing else None
    path: list[str | int] = []
    for step in steps:
        inside = step in tree if isinstance(tree, dict) else isinstance(tree, list) and step in range(len(tree))
        if inside:
            path.append(step)
            tree = tree[step]
    return tuple(path) if end is None else (*path, end)
