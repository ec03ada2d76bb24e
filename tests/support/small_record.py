"""Records written in a line or two, for tests that state one rule each."""

from __future__ import annotations

from typing import Any

from unfasten.record.record import Record


def record(parts: dict[str, Any] | list[str], joints: dict[str, Any], **more: Any) -> Record:
    """A record: `parts` besides the frame, `joints` as {id: (holds, way, ...)} or trees, other keys as they are."""
    listed = parts if isinstance(parts, dict) else {name: {} for name in parts}
    tree: dict[str, Any] = {
        "format": "unfasten-record/1",
        "product": {"id": "small", "name": "Small", "maker": "Fellwright", "category": "slate-tablet"},
        "setup": {"tool_change": "1 s", "turn_over": "1 s"},
        "tools": {name: {"name": name, "class": "basic"} for name in ("a", "b", "c")},
        "parts": {"frame": {"name": "Frame", "stays": True}},
        "joints": {},
    }
    for name, body in listed.items():
        tree["parts"][name] = {"name": name, **body}
    for name, body in joints.items():
        if isinstance(body, tuple):
            body = {"holds": body[0].split(), "ways": list(body[1:]) or [{}]}
        tree["joints"][name] = {"kind": "screw", **body}
    for key, value in more.items():
        tree[key] = {**tree.get(key, {}), **value} if isinstance(value, dict) else value
    return Record.model_validate(tree)
