"""Bench questions in words."""

from __future__ import annotations

from collections.abc import Sequence
from types import MappingProxyType
from typing import Final

from unfasten.record.joint import Way
from unfasten.record.record import Record
from unfasten.routes.opencover import OpenCover
from unfasten.service.report_words import listing

#: kind of joint -> what is done to it
_DONE: Final = MappingProxyType(
    {
        "screw": "undone",
        "clip": "opened",
        "adhesive": "parted",
        "connector": "opened",
        "press-fit": "pulled out",
        "magnet": "pulled off",
        "solder": "unsoldered",
        "weld": "parted",
        "tape": "peeled off",
    }
)
_PREPARED: Final = MappingProxyType({"heat": "heating", "clean": "cleaning"})
_PAST: Final = MappingProxyType(
    {
        "undone": "undid",
        "opened": "opened",
        "parted": "parted",
        "pulled out": "pulled out",
        "pulled off": "pulled off",
        "unsoldered": "unsoldered",
        "peeled off": "peeled off",
        "released": "released",
    }
)


def question_text(record: Record, cover: OpenCover) -> str:
    """`Could the speaker plug be opened with the antenna bracket still in place?`"""
    thing, done = _thing(record, cover)
    hidden = _the(record.parts[cover.cover].name)
    return f"Could {thing} be {done}{_by(record, cover)} with {hidden} still in place?"


def look_text(record: Record, covers: Sequence[OpenCover]) -> str:
    """The question that one look answers: `What had to be out of the way when you opened the speaker plug?`"""
    thing, done = _thing(record, covers[0])
    past = "lifted out" if covers[0].kind != "joint" else _PAST[done]
    names = [_the(record.parts[cover.cover].name) for cover in covers]
    choice = f"{', '.join(names[:-1])} or {names[-1]}" if len(names) > 1 else names[0]
    return f"What had to be out of the way when you {past} {thing}{_by(record, covers[0])}: {choice}?"


def meaning_text(record: Record, cover: OpenCover, *, covers: bool) -> str:
    """What an answer says, for reading back: `the antenna bracket covers the speaker plug`."""
    thing, done = _thing(record, cover)
    hidden = _the(record.parts[cover.cover].name)
    if covers:
        return f"{hidden} has to be out of the way before {thing} can be {done}{_by(record, cover)}"
    return f"{thing} can be {done}{_by(record, cover)} with {hidden} still in place"


def _thing(record: Record, cover: OpenCover) -> tuple[str, str]:
    if cover.kind == "joint":
        joint = record.joints[cover.id]
        return _the(joint.name or cover.id.replace("-", " ")), _DONE.get(joint.kind, "released")
    if cover.kind == "part":
        return _the(record.parts[cover.id].name), "lifted out"
    return _the(record.bundles[cover.id].name or cover.id.replace("-", " ")), "lifted out"


def _by(record: Record, cover: OpenCover) -> str:
    """How, where a joint has several ways: ` with the pick after heating`; the number too, where two read the same."""
    if cover.kind != "joint" or len(record.joints[cover.id].ways) == 1:
        return ""
    texts = [_how(record, way) for way in record.joints[cover.id].ways]
    number = cover.way or 0
    return f" {texts[number]}" + (f" (way {number})" if texts.count(texts[number]) > 1 else "")


def _how(record: Record, way: Way) -> str:
    tools = [_the(record.tools[tool].name) for tool in way.tools]
    prepared = list(dict.fromkeys(_PREPARED[one.do] for one in way.prepare))
    by = f"with {listing(tools)}" if tools else "by hand"
    return f"{by} after {listing(prepared)}" if prepared else by


def _the(name: str) -> str:
    return f"the {_small(name)}"


def _small(name: str) -> str:
    """The name as it stands within a sentence; an abbreviation keeps its capitals."""
    return name if name[1:2].isupper() else name[:1].lower() + name[1:]
