"""The log: what happened on the bench, in order. Times count from the start of the film."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, StrictInt

from unfasten.record.types import Clock, Cover, Id, Noun, Text, Time


class _Entry(Noun):
    at: Clock | None = None
    took: Time | None = None
    photo: Text | None = None
    by: Text | None = None


class Released(_Entry):
    """A joint was undone, by the way numbered `way` (None: not said)."""

    do: Literal["release"]
    joint: Id
    way: StrictInt | None = Field(default=None, ge=0)


class Lifted(_Entry):
    """A part or a bundle was taken out; exactly one of the two is named."""

    do: Literal["lift"]
    part: Id | None = None
    bundle: Id | None = None


class Swung(_Entry):
    """A part was moved aside."""

    do: Literal["swing"]
    swing: Id


class Found(_Entry):
    """What an observation added to a joint's way (0 if not given) or to the lift of a part or bundle."""

    do: Literal["found"]
    joint: Id | None = None
    way: StrictInt | None = Field(default=None, ge=0)
    part: Id | None = None
    bundle: Id | None = None
    under: tuple[Cover, ...] = ()
    behind: tuple[Cover, ...] = ()
    clear_of: tuple[Id, ...] = ()
    text: Text | None = None


class Note(_Entry):
    """A remark."""

    do: Literal["note"]
    text: Text


class Pause(_Entry):
    """The clock stood still."""

    do: Literal["pause"]
    text: Text | None = None


LogEntry = Annotated[Released | Lifted | Swung | Found | Note | Pause, Field(discriminator="do")]
