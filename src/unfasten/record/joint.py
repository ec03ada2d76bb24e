"""Joints: any fastener or connector, and the ways of undoing it."""

from __future__ import annotations

from typing import Literal

from pydantic import Field, StrictInt

from unfasten.record.part import Survey
from unfasten.record.types import Cover, Id, Length, Noun, Text, Time, WorkTime

Kind = Literal["screw", "clip", "adhesive", "connector", "press-fit", "magnet", "solder", "weld", "tape", "other"]
Reuse = Literal["reusable", "resupplied", "removable", "none"]


class Preparation(Noun):
    """What is done immediately before a release: heating or cleaning. Its time is never multiplied by the count."""

    do: Literal["heat", "clean"]
    tools: tuple[Id, ...] = ()
    time: Time | None = None


class Way(Noun):
    """One manner of undoing a joint. `survey` None means the record's default."""

    tools: tuple[Id, ...] = ()
    side: Id = "any"
    time: WorkTime | None = None
    prepare: tuple[Preparation, ...] = ()
    under: tuple[Cover, ...] = ()
    survey: Survey | None = None
    clear_of: tuple[Id, ...] = ()


class Joint(Noun):
    """A fastener or connector that holds two or more parts together. `reuse` None: not known."""

    kind: Kind
    holds: tuple[Id, ...] = Field(min_length=1)
    ways: tuple[Way, ...] = Field(min_length=1)
    count: StrictInt = Field(default=1, ge=1, le=10_000)
    reuse: Reuse | None = None
    name: Text | None = None
    where: Text | None = None
    drive: Text | None = None
    thread: Text | None = None
    length: Length | None = None
    note: Text | None = None
