"""The other tables: fasteners, tools, batteries, the log, and how the figures came about."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from unfasten.report.model.span import Caution, Fact


@dataclass(frozen=True, slots=True)
class FastenerRow:
    """One joint of the fastener chart."""

    joint: Annotated[str, "id of the joint"]
    name: Annotated[str, "name of the joint"]
    drive: Annotated[str, "drive of a screw"]
    thread: Annotated[str, "thread of a screw"]
    length: Annotated[str, "length"]
    count: Annotated[int, "how many there are"]
    where: Annotated[str, "what it holds, and where"]
    reuse: Annotated[str, "whether it can be used again"]


@dataclass(frozen=True, slots=True)
class FastenerGroup:
    """All joints of one kind."""

    kind: Annotated[str, "kind of joint"]
    count: Annotated[int, "fasteners of the kind"]
    rows: Annotated[tuple[FastenerRow, ...], "its joints"]


@dataclass(frozen=True, slots=True)
class ToolRow:
    """One tool and the priority parts it is needed for."""

    tool: Annotated[str, "id of the tool"]
    name: Annotated[str, "name of the tool"]
    tool_class: Annotated[str, "class of the tool in the rules"]
    marks: Annotated[
        tuple[str, ...], "per priority part: `x` needed, `(x)` only if open covers are real, empty not needed"
    ]


@dataclass(frozen=True, slots=True)
class ToolTable:
    """Tools needed for the priority parts."""

    parts: Annotated[tuple[str, ...], "names of the priority parts, in the order of the marks"]
    rows: Annotated[tuple[ToolRow, ...], "tools"]


@dataclass(frozen=True, slots=True)
class BatterySheet:
    """Data of one battery with the cautions that go with it."""

    name: Annotated[str, "name of the battery"]
    facts: Annotated[tuple[Fact, ...], "label data and what follows from them"]
    cautions: Annotated[tuple[Caution, ...], "hazards of the battery"]


@dataclass(frozen=True, slots=True)
class LogRow:
    """One entry of the log."""

    at: Annotated[str, "time from the start of the film"]
    do: Annotated[str, "what was done"]
    what: Annotated[str, "what it was done to, or the remark"]
    took: Annotated[str, "observed time [s]"]
    photo: Annotated[str, "photo"]
    by: Annotated[str, "who did it"]


@dataclass(frozen=True, slots=True)
class OriginRow:
    """Where a group of facts comes from."""

    facts: Annotated[str, "the facts"]
    origin: Annotated[str, "seen, measured, computed, claimed or assumed"]
    basis: Annotated[str, "what it rests on"]


@dataclass(frozen=True, slots=True)
class Method:
    """How the figures were obtained."""

    lines: Annotated[tuple[str, ...], "the method in short paragraphs"]
    origins: Annotated[tuple[OriginRow, ...], "origin of the facts"]
    sources: Annotated[tuple[str, ...], "published sources used"]
    program: Annotated[str, "program and version"]
