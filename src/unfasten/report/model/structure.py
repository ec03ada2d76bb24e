"""The structure drawing: what covers and what holds what."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated


@dataclass(frozen=True, slots=True)
class Node:
    """A part in the drawing."""

    part: Annotated[str, "id of the part"]
    name: Annotated[str, "name of the part"]
    steps: Annotated[str, "steps as printed, such as `5–7`"]
    priority: Annotated[bool, "whether the rules name it"]
    fixed: Annotated[int, "fasteners that hold it to the part that stays"]
    route: Annotated[tuple[str, ...], "parts moved on its route, itself included"]


@dataclass(frozen=True, slots=True)
class CoverLine:
    """One part covers another: it hides a joint that holds it, or bars its lift."""

    upper: Annotated[str, "id of the covering part"]
    lower: Annotated[str, "id of the covered part"]
    kind: Annotated[str, "`listed`, `either` (one of several suffices) or `open` (may or may not cover)"]


@dataclass(frozen=True, slots=True)
class HoldLine:
    """Joints between the same two parts, drawn as one line."""

    one: Annotated[str, "id of one part"]
    other: Annotated[str, "id of the other part"]
    count: Annotated[int, "fasteners between the two"]


@dataclass(frozen=True, slots=True)
class Structure:
    """All parts but the one that stays, in layers."""

    frame: Annotated[str, "name of the part that stays"]
    nodes: Annotated[tuple[Node, ...], "parts"]
    covers: Annotated[tuple[CoverLine, ...], "covers"]
    holds: Annotated[tuple[HoldLine, ...], "joints between parts that come out"]
    chosen: Annotated[str, "id of the part whose route is marked at first"]
    chosen_name: Annotated[str, "its name"]
