"""What stands where at this moment, read off a record's plain tree even while it is incomplete."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

Tree = Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Present:
    """Parts out and in, what is in hand and which side is up (None: not known)."""

    out: tuple[str, ...]
    inside: tuple[str, ...]
    aside: tuple[str, ...]
    undone: int
    joints: int
    tools: tuple[str, ...]
    side: str | None

    def as_json(self) -> dict[str, object]:
        """Give the JSON form."""
        return {
            "out": list(self.out),
            "in": list(self.inside),
            "aside": list(self.aside),
            "undone": self.undone,
            "joints": self.joints,
            "tools": list(self.tools),
            "side": self.side,
        }


def present(tree: Tree) -> Present:
    """Read the log as far as it goes."""
    parts, joints = tree.get("parts") or {}, tree.get("joints") or {}
    out: dict[str, None] = {}
    aside: dict[str, None] = {}
    undone: set[str] = set()
    tools: tuple[str, ...] = ()
    side: str | None = None
    for entry in tree.get("log") or ():
        do = entry.get("do")
        held: Tree = {}
        if do == "release" and entry.get("joint") in joints:
            undone.add(entry["joint"])
            ways = joints[entry["joint"]].get("ways") or [{}]
            number = entry.get("way") or 0
            held = ways[number] if number < len(ways) else {}
        elif do == "lift" and entry.get("part") in parts:
            out[entry["part"]] = None
            held = parts[entry["part"]].get("lift") or {}
        elif do == "lift" and entry.get("bundle"):
            bundle = (tree.get("bundles") or {}).get(entry["bundle"], {})
            out.update(dict.fromkeys(bundle.get("parts", ())))
            held = bundle.get("lift") or {}
        elif do == "swing":
            swing = (tree.get("swings") or {}).get(entry.get("swing"), {})
            aside.update(dict.fromkeys([swing["part"]] if swing.get("part") else ()))
            held = swing.get("lift") or {}
        tools = tuple(held.get("tools") or ()) or tools
        if held.get("side", "any") != "any":
            side = held["side"]
    inside = tuple(name for name in parts if name not in out)
    still = tuple(name for name in aside if name not in out)
    return Present(tuple(out), inside, still, len(undone), len(joints), tools, side)
