"""Words of the entry line: keywords, kinds, roles, and the short names of tools."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import Any, Final, get_args

from unfasten.evidence.datafile import load_data
from unfasten.record.joint import Kind, Reuse
from unfasten.record.part import Role
from unfasten.record.tool import ToolClass

KINDS: Final = get_args(Kind)
#: what is said at the bench for a kind of joint (common practice)
SAID: Final = {"glue": "adhesive", "plug": "connector", "snap": "clip", "latch": "clip", "seat": "press-fit"}
REUSES: Final = get_args(Reuse)
ROLES: Final = get_args(Role)
CLASSES: Final = get_args(ToolClass)
HAND: Final = "hand"
#: keyword of a way or lift -> what stands behind it
WAY_KEYS: Final = ("under", "side", "time", "each", "heat", "clean", "partial", "full", "clear", "or")
JOINT_KEYS: Final = (
    "holds",
    "as",
    "at",
    "reuse",
    "drive",
    "thread",
    "long",
    "named",
    "later",
    "took",
    "way",
    "remark",
    *WAY_KEYS,
)
LIFT_KEYS: Final = ("behind", "side", "time", "with", "partial", "full", "clear", "took", "of", "still", "keeps")
PART_KEYS: Final = ("named", "role", "stays", "mass", "size", "marking", "pairing", "hazards", "remark", *LIFT_KEYS[:7])
FOUND_KEYS: Final = ("under", "behind", "clear", "way", "remark")
#: first word of a line -> what it enters
VERBS: Final = {
    "lift": "take a part or bundle out: lift battery",
    "swing": "move a part aside: swing cover-open of back-cover keeps cover-cable",
    "release": "undo a joint that is on the sheet: release battery-plug",
    "found": "say what was in the way or not: found battery-glue clear speaker",
    "part": "put a part on the sheet: part battery role battery mass 38.2 ± 0.1 g",
    "tool": "put a tool on the sheet: tool pad class commercial named Heating pad",
    "note": "remark: note a second strap beside the hinge",
    "pause": "the clock stood still: pause 3 min",
    "drop": "take something off the sheet: drop joint old-clip",
    "undo": "withdraw the last entry, or one by its number: undo 12",
    "clock": "set the clock to the film's: clock 0:12:30",
    "yes": "answer the question above with yes",
    "no": "answer the question above with no",
    "unsure": "leave the question above open and show the next",
}


@dataclass(frozen=True, slots=True)
class ToolForm:
    """A short tool name: what it stands for, and the kind of joint that it undoes if only one is usual."""

    form: str
    name: str
    kind: str
    tool_class: str | None
    joint: str | None

    def tree(self, tool: str) -> dict[str, Any] | None:
        """The tool's tree if `tool` has this form."""
        found = re.fullmatch(self.form, tool)
        if found is None:
            return None
        size = found.group(1) if found.groups() else None
        tree: dict[str, Any] = {"name": self.name.format(size=size), "kind": self.kind}
        if self.tool_class:
            tree["class"] = self.tool_class
        if size:
            tree["size"] = size
        return tree


def kind_said(word: str) -> str | None:
    """Kind of joint that a word names, in the plural too; None if it names none."""
    said = next((one for one in (word, word.removesuffix("es"), word.removesuffix("s")) if one in (*KINDS, *SAID)), "")
    return SAID.get(said, said) or None


@cache
def tool_forms() -> tuple[ToolForm, ...]:
    """Short tool names that need no entry of their own."""
    document = load_data(Path(str(files("unfasten.service.line").joinpath("tools.yaml"))))
    return tuple(
        ToolForm(one["form"], one["name"], one["kind"], one.get("class"), one.get("joint")) for one in document
    )


def usual_tool(tool: str) -> dict[str, Any] | None:
    """What a short tool name stands for; None if it is not known."""
    trees = (form.tree(tool) for form in tool_forms())
    return next((tree for tree in trees if tree is not None), None)


def usual_joint(kind: str | None) -> str | None:
    """Kind of joint that a kind of tool undoes, where only one is usual (common practice)."""
    return next((form.joint for form in tool_forms() if form.kind == kind), None)
