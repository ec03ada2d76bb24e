"""Every name that a record's tree uses for something defined elsewhere in it, found even in a tree with mistakes."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, Final, Literal, NamedTuple

from unfasten.evidence.place import Path

Target = Literal["tool", "part", "joint", "bundle", "swing", "covered"]
#: what a name may mean -> sections that define it
SECTIONS: Final[dict[str, tuple[str, ...]]] = {
    "tool": ("tools",),
    "part": ("parts",),
    "joint": ("joints",),
    "bundle": ("bundles",),
    "swing": ("swings",),
    "covered": ("joints", "parts", "bundles"),
}


class Reference(NamedTuple):
    """A name used at `path`."""

    path: Path
    target: Target
    name: str


def mapping(node: Any) -> dict[str, Any]:
    """Give the node if it is a mapping, else an empty one."""
    return node if isinstance(node, dict) else {}


def sequence(node: Any) -> list[Any]:
    """Give the node if it is a list, else an empty one."""
    return node if isinstance(node, list) else []


def entries(tree: Any, section: str) -> Iterator[tuple[Path, dict[str, Any]]]:
    """Yield the members of a section that are mappings, each with its path."""
    for name, node in mapping(mapping(tree).get(section)).items():
        yield (section, name), mapping(node)


def log_entries(tree: Any) -> Iterator[tuple[Path, dict[str, Any]]]:
    """Yield the log's entries that are mappings, each with its path."""
    for index, node in enumerate(sequence(mapping(tree).get("log"))):
        yield ("log", index), mapping(node)


def ways(joint: dict[str, Any]) -> Iterator[tuple[int, dict[str, Any]]]:
    """Yield the ways of a joint with their numbers."""
    for index, way in enumerate(sequence(joint.get("ways"))):
        yield index, mapping(way)


def references(tree: Any) -> Iterator[Reference]:
    """Yield every reference in the tree."""
    for section in ("parts", "bundles", "swings"):
        for path, node in entries(tree, section):
            yield from _lift((*path, "lift"), mapping(node.get("lift")))
    for path, joint in entries(tree, "joints"):
        yield from _joint(path, joint)
    for path, bundle in entries(tree, "bundles"):
        yield from _list((*path, "parts"), "part", bundle.get("parts"))
    for path, swing in entries(tree, "swings"):
        yield from _one((*path, "part"), "part", swing.get("part"))
        yield from _list((*path, "keeps"), "joint", swing.get("keeps"))
        yield from _list((*path, "still_covers"), "covered", swing.get("still_covers"))
    for path, test in entries(tree, "swap_tests"):
        yield from _one((*path, "part"), "part", test.get("part"))
    for path, measurement in entries(tree, "measurements"):
        yield from _one((*path, "of"), "part", measurement.get("of"))
    for path, entry in log_entries(tree):
        yield from _entry(path, entry)


def _joint(path: Path, joint: dict[str, Any]) -> Iterator[Reference]:
    yield from _list((*path, "holds"), "part", joint.get("holds"))
    for index, way in ways(joint):
        here = (*path, "ways", index)
        yield from _list((*here, "tools"), "tool", way.get("tools"))
        yield from _covers((*here, "under"), way.get("under"))
        yield from _list((*here, "clear_of"), "part", way.get("clear_of"))
        for number, preparation in enumerate(sequence(way.get("prepare"))):
            yield from _list((*here, "prepare", number, "tools"), "tool", mapping(preparation).get("tools"))


def _lift(path: Path, lift: dict[str, Any]) -> Iterator[Reference]:
    yield from _list((*path, "tools"), "tool", lift.get("tools"))
    yield from _covers((*path, "behind"), lift.get("behind"))
    yield from _list((*path, "clear_of"), "part", lift.get("clear_of"))


def _entry(path: Path, entry: dict[str, Any]) -> Iterator[Reference]:
    targets: tuple[Target, ...] = ("joint", "part", "bundle", "swing")
    for target in targets:
        yield from _one((*path, target), target, entry.get(target))
    for key in ("under", "behind"):
        yield from _covers((*path, key), entry.get(key))
    yield from _list((*path, "clear_of"), "part", entry.get("clear_of"))


def _covers(path: Path, node: Any) -> Iterator[Reference]:
    for index, clause in enumerate(sequence(node)):
        if isinstance(clause, list):
            yield from _list((*path, index), "part", clause)
        else:
            yield from _one((*path, index), "part", clause)


def _list(path: Path, target: Target, node: Any) -> Iterator[Reference]:
    for index, name in enumerate(sequence(node)):
        yield from _one((*path, index), target, name)


def _one(path: Path, target: Target, name: Any) -> Iterator[Reference]:
    if isinstance(name, str):
        yield Reference(path, target, name)
