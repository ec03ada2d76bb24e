"""One open cover: a part that may or may not have to be cleared for one way of a joint, or for one lift."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from unfasten.routes.unknown import Unknown

Kind = Literal["joint", "part", "bundle"]


@dataclass(frozen=True, slots=True, order=True)
class OpenCover:
    """Whether `cover` hides way `way` of a joint, or the lift of a part or bundle (`way` is then None)."""

    kind: Kind
    id: str
    way: int | None
    cover: str

    @property
    def place(self) -> str:
        """Place of the way or lift in the record; one look there answers for all its covers."""
        return f"joints.{self.id}.ways[{self.way}]" if self.kind == "joint" else f"{self.kind}s.{self.id}.lift"

    @property
    def event(self) -> tuple[str, str]:
        """The event it may hinder, as (kind, id) in the manner of `World.events_of`."""
        return ("release" if self.kind == "joint" else "lift"), self.id


def open_covers(unknown: Unknown) -> tuple[OpenCover, ...]:
    """List every unknown cover, in the order of the record and of the log."""
    joints = [OpenCover("joint", name, way, c) for (name, way), covers in unknown.ways.items() for c in covers]
    parts = [OpenCover("part", name, None, c) for name, covers in unknown.parts.items() for c in covers]
    return *joints, *parts, *(OpenCover("bundle", n, None, c) for n, covers in unknown.bundles.items() for c in covers)


def taken_as_real(covers: Iterable[OpenCover]) -> Unknown:
    """The same covers as a table for a world in which they are real; the order does not depend on that of a set."""
    ways: dict[tuple[str, int], tuple[str, ...]] = {}
    parts: dict[str, tuple[str, ...]] = {}
    bundles: dict[str, tuple[str, ...]] = {}
    for one in sorted(covers):
        if one.kind == "joint":
            key = one.id, one.way or 0
            ways[key] = (*ways.get(key, ()), one.cover)
        else:
            table = parts if one.kind == "part" else bundles
            table[one.id] = (*table.get(one.id, ()), one.cover)
    return Unknown(ways, parts, bundles)
