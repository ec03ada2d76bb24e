"""What the predecessor lets expect: the next entries as lines, and what turned out otherwise."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Final

from unfasten.service.line.write import entry_line

Tree = Mapping[str, Any]
_SECTIONS: Final = ("parts", "joints", "bundles", "swings")
#: what a change is told of; covers and times differ between any two benches
_TOLD: Final = {
    "parts": ("role", "pairing", "mass", "size"),
    "joints": ("kind", "holds", "count", "reuse", "drive", "thread", "length"),
    "bundles": ("parts",),
    "swings": ("part", "keeps"),
}


@dataclass(frozen=True, slots=True)
class Expected:
    """An entry of the predecessor's log that has no counterpart yet, as a line."""

    line: str
    words: str

    def as_json(self) -> dict[str, object]:
        """Give the JSON form."""
        return {"line": self.line, "words": self.words}


@dataclass(frozen=True, slots=True)
class Change:
    """An object that differs from the predecessor's."""

    place: str
    what: str

    def as_json(self) -> dict[str, object]:
        """Give the JSON form."""
        return {"place": self.place, "what": self.what}


def expected_lines(tree: Tree, before: Tree, limit: int = 5) -> list[Expected]:
    """The predecessor's next log entries that this log does not have, in its order.

    Notes and pauses are left aside, and so is what can no longer come: what is about parts that are apart already.
    """
    done = {_about(entry) for entry in tree.get("log") or ()}
    lifts = _lifts(tree)
    found = []
    for entry in before.get("log") or ():
        about = _about(entry)
        if about is None or about in done or entry["do"] in ("found", "note", "pause"):
            continue
        if _past(before, entry, lifts):
            continue
        bare = {key: value for key, value in entry.items() if key in ("do", "joint", "part", "bundle", "swing", "way")}
        found.append(Expected(entry_line(before, bare, known=True).split(" of ")[0], _words(before, entry)))
        if len(found) == limit:
            break
    return found


def changes(tree: Tree, before: Tree) -> Iterator[Change]:
    """Objects of this record that differ from the predecessor's or that it lacks; its joints that are not here."""
    for section in _SECTIONS:
        old: Tree = before.get(section) or {}
        for name, now in (tree.get(section) or {}).items():
            place = f"{section}.{name}"
            if name not in old:
                yield Change(place, "new")
                continue
            told = [_told(key, old[name].get(key), now.get(key)) for key in _TOLD[section]]
            what = "; ".join(text for text in told if text)
            if what:
                yield Change(place, what)
    joints: Tree = tree.get("joints") or {}
    lifts = _lifts(tree)
    for name, joint in (before.get("joints") or {}).items():
        if name not in joints and _parted(joint, lifts):
            out = next(part for part in joint["holds"] if part in lifts)
            yield Change(f"joints.{name}", f"not met: {out} came out without it")


def _lifts(tree: Tree) -> dict[str, int]:
    """The part's last lift, as its place in the log, for each part that is out."""
    lifts: dict[str, int] = {}
    for number, entry in enumerate(tree.get("log") or ()):
        if entry.get("do") == "lift" and entry.get("part"):
            lifts[entry["part"]] = number
        elif entry.get("do") == "lift" and entry.get("bundle"):
            bundle: Tree = (tree.get("bundles") or {}).get(entry["bundle"], {})
            lifts.update(dict.fromkeys(bundle.get("parts", ()), number))
    return lifts


def _parted(joint: Tree, lifts: Mapping[str, int]) -> bool:
    """Tell whether what a joint holds is apart; parts that came out in one bundle are still together."""
    return len({lifts.get(part) for part in joint.get("holds", ())}) > 1


def _past(before: Tree, entry: Tree, lifts: Mapping[str, int]) -> bool:
    """Tell whether an entry of the predecessor's can no longer come; a part may be lifted from a bundle that is out."""
    if entry["do"] == "release":
        return _parted(before["joints"][entry["joint"]], lifts)
    if entry["do"] == "swing":
        return before["swings"][entry["swing"]].get("part") in lifts
    return False


def _told(key: str, old: Any, new: Any) -> str | None:
    if key == "count":
        old, new = old or 1, new or 1
    if old == new or old is None or new is None or (key == "holds" and set(old) == set(new)):
        return None
    return f"{key} {_shown(old)} → {_shown(new)}"


def _shown(value: Any) -> str:
    return ", ".join(map(str, value)) if isinstance(value, list | tuple) else str(value)


def _about(entry: Tree) -> tuple[str, str] | None:
    name = entry.get("joint") or entry.get("part") or entry.get("bundle") or entry.get("swing")
    return (str(entry.get("do")), str(name)) if name else None


def _words(before: Tree, entry: Tree) -> str:
    if entry["do"] == "release":
        joint = before["joints"][entry["joint"]]
        count = f"{joint['count']} × " if joint.get("count", 1) > 1 else ""
        way = joint["ways"][entry.get("way") or 0]
        tools = " and ".join(way.get("tools") or ()) or "by hand"
        return f"undo {count}{joint['kind']} {entry['joint']} ({tools})"
    name = entry.get("part") or entry.get("bundle") or entry.get("swing")
    return f"{entry['do']} {name}"
