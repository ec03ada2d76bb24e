"""Operation sheets: one procedure laid out as a table."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from unfasten.report.model.span import Caution, Span


@dataclass(frozen=True, slots=True)
class Operation:
    """One line of an operation sheet."""

    number: Annotated[int, "number of the operation"]
    do: Annotated[str, "heat, clean, undo, lift out or swing aside"]
    what: Annotated[str, "the joint or part"]
    count: Annotated[str, "fasteners to undo; empty where nothing is counted"]
    tool: Annotated[str, "tools, used at the same time where several are named"]
    change: Annotated[bool, "whether a tool is picked up here"]
    side: Annotated[str, "face of the product that must be up"]
    turn: Annotated[bool, "whether the product is turned over here"]
    time: Annotated[str, "work time of the operation [s], tool changes and turns left out"]
    stretch: Annotated[int, "stretch that the operation belongs to; each ends with a part moved"]
    opens: Annotated[bool, "whether the operation opens its stretch"]
    steps: Annotated[int, "steps so far"]
    so_far: Annotated[str, "time so far with tool changes and turns [min:s]"]
    renewal: Annotated[str, "what the joint needs on reassembly"]
    remark: Annotated[str, "where the joint sits, what it holds, what is to be known"]
    letters: Annotated[tuple[str, ...], "cautions that belong to the operation"]


@dataclass(frozen=True, slots=True)
class Why:
    """Why a part has to move on the way."""

    moved: Annotated[str, "the part or bundle moved"]
    because: Annotated[str, "the joints it hides or the lifts it bars"]
    sure: Annotated[
        str, "`listed`, `either` (one of several) or `open` (the route counts it, the survey has not settled it)"
    ]
    costs: Annotated[str, "steps and time that would be saved if it were in nothing's way; empty: not computed"] = ""


@dataclass(frozen=True, slots=True)
class Procedure:
    """The operation sheet of one priority part."""

    part: Annotated[str, "id of the part"]
    name: Annotated[str, "name of the part"]
    role: Annotated[str, "role by which the rules name it"]
    steps: Annotated[Span, "steps to the part, pairing additions included"]
    time: Annotated[Span, "time to the part [s]"]
    additions: Annotated[str, "steps that pairing adds, in a sentence; empty: none"]
    proof: Annotated[str, "whether the route is proven shortest"]
    note: Annotated[str, "which route is shown, and what fewer steps would take"]
    stop: Annotated[Caution | None, "the notice that stands in place of the procedure"]
    unreachable: Annotated[str, "why there is no procedure; empty: there is one"]
    cautions: Annotated[tuple[Caution, ...], "hazards on the way"]
    why: Annotated[tuple[Why, ...], "why other parts have to move"]
    operations: Annotated[tuple[Operation, ...], "the procedure"]
    reassembly: Annotated[str, "how it goes back together"]
    renewals: Annotated[tuple[str, ...], "joints that need new material on reassembly"]
