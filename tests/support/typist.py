"""A person at the entry line: how a record's log is typed from an empty sheet, and the keys it takes."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from unfasten.service.bench.present import present
from unfasten.service.line.complete import complete
from unfasten.service.line.read import Reading, read_line
from unfasten.service.line.words import usual_tool
from unfasten.service.line.write import entry_line, joint_line, part_line, swing_line

Tree = dict[str, Any]


class Typist:
    """Types a record's objects and log, each line understood before the next; `tree` is what has come of it."""

    def __init__(self, source: Mapping[str, Any]) -> None:
        self.source = source
        frame = next(name for name, part in source["parts"].items() if part.get("stays"))
        self.frame = frame
        self.tree: Tree = {
            "format": source["format"],
            "product": source["product"],
            "setup": {"survey": "full"},
            "parts": {frame: {"name": frame.capitalize(), "stays": True}},
            "joints": {},
        }
        self.readings: list[tuple[str, str | None, Reading]] = []

    def lines(self) -> Iterator[tuple[str, str | None]]:
        """Each line with the film's time, shortest form; apply it with `take` before asking for the next."""
        for name, tool in self.source["tools"].items():
            usual = usual_tool(name)
            if usual is None or usual.get("class") != tool.get("class"):
                yield f"tool {name} class {tool['class']}", None
        for name, part in self.source["parts"].items():
            bare = {key: value for key, value in part.items() if key not in ("lift", "note", "stays")}
            if name != self.frame:
                yield part_line(name, bare), None
        for entry in self.source["log"]:
            yield from self._entry(entry)

    def _entry(self, entry: Mapping[str, Any]) -> Iterator[tuple[str, str | None]]:
        at, do = entry.get("at"), entry["do"]
        if do == "swing":
            swing = self.source["swings"][entry["swing"]]
            for joint in swing.get("keeps", ()):
                yield self._joint(joint) + " later", at
            yield swing_line(entry["swing"], {k: v for k, v in swing.items() if k != "still_covers"}), at
        elif do == "release" and entry["joint"] not in self.tree["joints"]:
            yield self._joint(entry["joint"], entry.get("way") or 0, entry.get("took")), at
        else:
            yield entry_line(self.source, entry, known=do == "release"), at

    def _joint(self, name: str, way: int = 0, took: str | None = None) -> str:
        joint = {key: value for key, value in self.source["joints"][name].items() if key != "note"}
        joint["ways"] = [self._short(one, joint["holds"]) for one in joint["ways"]]
        side = present(self.tree).side
        same = side is not None and all(one.get("side") == side for one in joint["ways"])
        return joint_line(name, joint, way, took, side=side if same else None)

    def _short(self, way: Mapping[str, Any], held: list[str]) -> Tree:
        """The same way, with what is clear said as `rest but …` where that is shorter."""
        made = dict(way)
        if not way.get("clear_of"):
            return made
        under = {name for clause in way.get("under", ()) for name in ([clause] if isinstance(clause, str) else clause)}
        off = [name for name in present(self.tree).out if name not in under and name not in held]
        aside = [name for name in present(self.tree).aside if name not in under and name not in held]
        but = [name for name in [*off, *aside] if name not in way["clear_of"]]
        if set(way["clear_of"]) <= {*off, *aside} and len(but) + 2 < len(way["clear_of"]):
            made["clear_of"] = ["rest", *(["but", *but] if but else [])]
        return made

    def take(self, line: str, at: str | None) -> Reading:
        """Understand a line and put what it stands for on the sheet."""
        reading = read_line(line, self.tree, at=at, side=present(self.tree).side)
        self.readings.append((line, at, reading))
        for piece in reading.pieces:
            if piece.kind == "put":
                section, _, name = piece.body["at"].partition(".")
                self.tree.setdefault(section, {})[name] = piece.body["value"]
            elif piece.kind == "log":
                self.tree.setdefault("log", []).append(piece.body["entry"])
        return reading

    def keys(self, line: str) -> int:
        """Keys that the line takes with completion: a word is begun until it stands first, then Tab ends it."""
        typed, count = "", 1
        for word in line.split(" "):
            best = len(word) + 1
            for begun in range(len(word)):
                found = complete(typed + word[:begun], len(typed) + begun, self.tree)
                if found and found[0] == word:
                    best = min(best, begun + 1)
                    break
            count += best
            typed += f"{word} "
        return count
