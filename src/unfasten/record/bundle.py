"""Bundles (parts that come out together) and swings (a part moved aside while something still tethers it)."""

from __future__ import annotations

from pydantic import Field

from unfasten.record.part import Lift
from unfasten.record.types import Id, Noun, Text


class Bundle(Noun):
    """Parts that come out together; the bundle has its own `behind` and inherits none."""

    parts: tuple[Id, ...] = Field(min_length=1)
    lift: Lift = Lift()
    name: Text | None = None


class Swing(Noun):
    """A part moved aside with the joints in `keeps` still done up; it still covers what `still_covers` lists."""

    part: Id
    keeps: tuple[Id, ...] = ()
    lift: Lift = Lift()
    still_covers: tuple[Id, ...] = ()
    name: Text | None = None
