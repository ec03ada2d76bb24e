"""Objects and log entries as lines that the entry line reads back: what is offered as expected, and for filling in."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from unfasten.service.line.words import HAND, JOINT_KEYS, PART_KEYS

Tree = Mapping[str, Any]


def joint_line(name: str, joint: Tree, way: int = 0, took: str | None = None, *, side: str | None = None) -> str:
    """The line that puts a joint on the sheet and releases it by `way`."""
    first = joint["ways"][0]
    words = [str(joint["count"])] if joint.get("count", 1) != 1 else []
    words += [_tools(first), joint["kind"], "holds", *joint.get("holds", ()), "as", name]
    for key, word in (("where", "at"), ("reuse", "reuse"), ("drive", "drive"), ("thread", "thread")):
        words += [word, _text(joint[key], JOINT_KEYS)] if joint.get(key) else []
    words += ["long", joint["length"]] if joint.get("length") else []
    words += ["named", _text(joint["name"], JOINT_KEYS)] if joint.get("name") else []
    words += ["remark", _text(joint["note"], JOINT_KEYS)] if joint.get("note") else []
    for number, one in enumerate(joint["ways"]):
        words += ["or", _tools(one)] if number else []
        words += _way(one, "under", side)
    words += ["way", str(way)] if way else []
    words += ["took", took] if took else []
    return " ".join(words)


def lift_line(name: str, lift: Tree, took: str | None = None, parts: Iterable[str] = ()) -> str:
    """The line that lifts a part, or a bundle with its `parts`."""
    listed = list(parts)
    words = ["lift", name, *(["of", *listed] if listed else [])]
    words += ["with", _tools(lift)] if lift.get("tools") else []
    return " ".join([*words, *_way(lift, "behind", None), *(["took", took] if took else [])])


def swing_line(name: str, swing: Tree, took: str | None = None) -> str:
    """The line that moves a part aside."""
    lift = swing.get("lift") or {}
    words = ["swing", name, "of", swing["part"]]
    words += ["keeps", *swing["keeps"]] if swing.get("keeps") else []
    words += ["still", *swing["still_covers"]] if swing.get("still_covers") else []
    words += ["with", _tools(lift)] if lift.get("tools") else []
    return " ".join([*words, *_way(lift, "behind", None), *(["took", took] if took else [])])


def part_line(name: str, part: Tree) -> str:
    """The line that puts a part on the sheet; label values and holes go in by their place."""
    words = ["part", name, "named", _text(part["name"], PART_KEYS)]
    words += ["role", part["role"]] if part.get("role") else []
    words += ["stays"] if part.get("stays") else []
    words += ["mass", part["mass"]] if part.get("mass") else []
    words += ["size", " x ".join(part["size"])] if part.get("size") else []
    for key in ("pairing", "hazards"):
        words += [key, *part[key]] if part.get(key) else []
    words += ["marking", _text(part["marking"], PART_KEYS)] if part.get("marking") else []
    words += ["remark", _text(part["note"], PART_KEYS)] if part.get("note") else []
    lift = part.get("lift") or {}
    words += ["with", _tools(lift)] if lift.get("tools") else []
    return " ".join([*words, *_way(lift, "behind", None)])


def found_line(entry: Tree) -> str:
    """The line that enters what was found."""
    words = ["found", entry.get("joint") or entry.get("part") or entry["bundle"]]
    words += ["way", str(entry["way"])] if entry.get("way") else []
    for key, word in (("under", "under"), ("behind", "behind")):
        words += [word, *_covers(entry[key])] if entry.get(key) else []
    words += ["clear", *entry["clear_of"]] if entry.get("clear_of") else []
    words += ["remark", _text(entry["text"], ("under",))] if entry.get("text") else []
    return " ".join(words)


def entry_line(tree: Tree, entry: Tree, *, known: bool = False) -> str:
    """The line of a log entry; with `known`, what it is about stands on the sheet already."""
    do, took = entry["do"], entry.get("took")
    if do == "release":
        name, way = entry["joint"], entry.get("way") or 0
        short = " ".join(["release", name, *(["way", str(way)] if way else []), *(["took", took] if took else [])])
        return short if known else joint_line(name, tree["joints"][name], way, took)
    if do == "lift" and entry.get("bundle"):
        bundle = tree["bundles"][entry["bundle"]]
        return lift_line(entry["bundle"], bundle.get("lift") or {}, took, bundle["parts"])
    if do == "lift":
        lift = {} if known else tree["parts"][entry["part"]].get("lift") or {}
        return lift_line(entry["part"], lift, took)
    if do == "swing":
        return swing_line(entry["swing"], tree["swings"][entry["swing"]], took)
    if do == "found":
        return found_line(entry)
    if do == "pause":
        return " ".join(["pause", *([took] if took else []), *([entry["text"]] if entry.get("text") else [])])
    return f"note {entry['text']}"


def _tools(way: Tree) -> str:
    return "+".join(way.get("tools") or ()) or HAND


def _way(way: Tree, covers: str, side: str | None) -> list[str]:
    words: list[str] = []
    for preparation in way.get("prepare", ()):
        words += [preparation["do"], *(["+".join(preparation["tools"])] if preparation.get("tools") else [])]
        words += [preparation["time"]] if preparation.get("time") else []
    time = way.get("time")
    if time:
        words += ["each", time.removesuffix(" each")] if time.endswith(" each") else ["time", time]
    if way.get("side") and way["side"] != side:
        words += ["side", way["side"]]
    words += [covers, *_covers(way[covers])] if way.get(covers) else []
    words += [way["survey"]] if way.get("survey") else []
    return words + (["clear", *way["clear_of"]] if way.get("clear_of") else [])


def _covers(clauses: Iterable[Any]) -> list[str]:
    return ["/".join(clause) if isinstance(clause, list | tuple) else clause for clause in clauses]


def _text(text: str, keys: Iterable[str]) -> str:
    """Quote a text where one of its words would be read as a keyword."""
    words = text.split()
    safe = not any(word.rstrip(",") in set(keys) or word.endswith(",") for word in words) and '"' not in text
    return text if safe and " ".join(words) == text else '"' + text.replace('"', "'") + '"'
