"""How much of a board its component bodies take, side by side, with an uncertainty in which one scale enters all areas.

Every area is kept as a value and the contributions of its independent causes (JCGM 100, 5.1.3). A cause that acts on
several areas keeps its name, so that it adds up in a sum and falls out of a ratio: the scale of a photograph moves all
areas on it by the same share, and a common shift of edges moves each by its length around.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final

from unfasten.photo.identify.outline import Outline, area, area_u, around, covered, touching

#: an overlap or overhang below this share of the smaller area is taken for pointing, not for a finding
_SLIGHT: Final = 0.01


@dataclass(frozen=True, slots=True)
class Uncertain:
    """A value and, by cause, how far one standard uncertainty of the cause moves it; same unit."""

    value: float
    causes: Mapping[str, float] = field(default_factory=dict)

    @property
    def u(self) -> float:
        """Standard uncertainty."""
        return math.sqrt(math.fsum(part**2 for part in self.causes.values()))

    def times(self, factor: float) -> Uncertain:
        """So many times this value, exactly."""
        return Uncertain(factor * self.value, {name: factor * part for name, part in self.causes.items()})

    def over(self, other: Uncertain) -> Uncertain:
        """The ratio to another value; common causes cancel as far as they act alike."""
        ratio = self.value / other.value
        names = dict.fromkeys((*self.causes, *other.causes))
        return Uncertain(
            ratio,
            {n: (self.causes.get(n, 0.0) - ratio * other.causes.get(n, 0.0)) / other.value for n in names},
        )


def total(parts: Iterable[Uncertain]) -> Uncertain:
    """The sum; what comes from one cause adds up with its sign."""
    value = 0.0
    causes: dict[str, float] = {}
    for part in parts:
        value += part.value
        for name, moved in part.causes.items():
            causes[name] = causes.get(name, 0.0) + moved
    return Uncertain(value, causes)


@dataclass(frozen=True, slots=True)
class View:
    """A photograph that outlines were drawn on: relative standard uncertainty of its scale, and of its edges [mm].

    `edge_u` is how far all outlines on it may lie too far out or in together.
    """

    id: str
    scale_u: float
    edge_u: float = 0.0


@dataclass(frozen=True, slots=True)
class Body:
    """An outline: corners [mm] with `u` [mm] on each coordinate, or two sides [mm] with theirs.

    `view` None: it was measured by hand, no photograph's scale enters. `count` equal bodies share one measurement. Two
    bodies of one name are taken for one measurement too.
    """

    name: str
    u: float
    outline: Outline = ()
    sides: tuple[float, float] | None = None
    sides_u: tuple[float, float] | None = None
    view: View | None = None
    count: int = 1

    @property
    def area(self) -> Uncertain:
        """The area of all of them [mm2]."""
        if self.sides is not None:
            (width, length), (u_width, u_length) = self.sides, self.sides_u or (self.u, self.u)
            value, own = width * length, math.hypot(length * u_width, width * u_length)
            edge = 2 * (width + length)
        else:
            value, own, edge = area(self.outline), area_u(self.outline, self.u), around(self.outline)
        causes = {f"pointing, {self.name}": own}
        if self.view is not None:
            causes[f"scale of {self.view.id}"] = 2 * value * self.view.scale_u
            causes[f"edges on {self.view.id}"] = edge * self.view.edge_u
        return Uncertain(value, {name: part for name, part in causes.items() if part}).times(self.count)


@dataclass(frozen=True, slots=True)
class Side:
    """One side of a board: the board's own outline and the bodies on it; an empty list says that there are none."""

    name: str
    board: Body
    bodies: tuple[Body, ...]


@dataclass(frozen=True, slots=True)
class SideUse:
    """Use of one side: areas [mm2], shares of the board's area, and what is odd about the outlines."""

    name: str
    bodies: int
    board: Uncertain
    body_area: Uncertain
    share: Uncertain
    empty: Uncertain
    says: tuple[str, ...]

    def as_json(self) -> dict[str, object]:
        """Areas in mm2, shares in percent."""
        return {
            "side": self.name,
            "bodies": self.bodies,
            "board_mm2": _pair(self.board),
            "body_area_mm2": _pair(self.body_area),
            "use_percent": _pair(self.share.times(100)),
            "empty_percent": _pair(self.empty.times(100)),
            "budget_percent": _budget(self.share),
            "says": list(self.says),
        }


@dataclass(frozen=True, slots=True)
class BoardUse:
    """Use of a board: each side, and both together over one side's area and over the area of both."""

    sides: tuple[SideUse, ...]
    over_one: Uncertain | None
    over_both: Uncertain | None
    says: tuple[str, ...]

    def as_json(self) -> dict[str, object]:
        """Everything in JSON; None is unknown."""
        return {
            "sides": [side.as_json() for side in self.sides],
            "both_over_one_side_percent": None if self.over_one is None else _pair(self.over_one.times(100)),
            "both_over_both_sides_percent": None if self.over_both is None else _pair(self.over_both.times(100)),
            "says": list(self.says),
        }


def board_use(sides: Sequence[Side]) -> BoardUse:
    """The use of a board from its one or two sides; with one side only, what concerns both is unknown."""
    uses = tuple(_side_use(side) for side in sides)
    if len(uses) < 2:
        return BoardUse(uses, None, None, ("the other side was not outlined: nothing is said of the board as a whole",))
    bodies, boards = total(use.body_area for use in uses), total(use.board for use in uses)
    over_both = bodies.over(boards)
    says = ["body area of both sides over the area of one may exceed 100 %"]
    one, other = uses[0].board, uses[1].board
    difference = total((one, other.times(-1)))
    if abs(difference.value) > 3 * difference.u:
        says.append(f"the two sides of the board differ in area by {abs(difference.value):.1f} mm²: outline them again")
    return BoardUse(uses, over_both.times(2), over_both, tuple(says))


def _side_use(side: Side) -> SideUse:
    board = side.board.area
    bodies = total(body.area for body in side.bodies)
    says, doubled, outside = oddities(side)
    share = bodies.over(board)
    lying_on = Uncertain(max(0.0, bodies.value - doubled - outside), bodies.causes)
    empty = Uncertain(1 - lying_on.value / board.value, lying_on.over(board).times(-1).causes)
    count = sum(body.count for body in side.bodies)
    return SideUse(side.name, count, board, bodies, share, empty, tuple(says))


def oddities(side: Side) -> tuple[list[str], float, float]:
    """What is odd, the area that is counted twice, and the area beyond the board [mm2]."""
    placed = [body for body in side.bodies if body.outline and body.count == 1]
    says = []
    if len(placed) < len(side.bodies):
        says.append("bodies given by size or number have no place: whether they overlap was not checked")
    outlines = [body.outline for body in placed]
    doubled = max(0.0, math.fsum(area(outline) for outline in outlines) - covered(outlines))
    for one, other in _overlaps(placed):
        says.append(f"{one} and {other} overlap: stacked, or drawn twice? the empty share counts the area once")
    outside = 0.0
    for body in placed if side.board.outline else ():
        beyond = covered([side.board.outline, body.outline]) - area(side.board.outline)
        if beyond > _SLIGHT * area(body.outline):
            says.append(f"{body.name} reaches {beyond:.1f} mm² beyond the board")
            outside += beyond
    return says, doubled, outside


def _overlaps(bodies: Sequence[Body]) -> list[tuple[str, str]]:
    found = []
    for group in touching([body.outline for body in bodies]):
        for place, one in enumerate(group):
            for other in group[place + 1 :]:
                pair = [bodies[one].outline, bodies[other].outline]
                common = area(pair[0]) + area(pair[1]) - covered(pair)
                if common > _SLIGHT * min(area(pair[0]), area(pair[1])):
                    found.append((bodies[one].name, bodies[other].name))
    return found


def _pair(one: Uncertain) -> dict[str, float]:
    return {"value": one.value, "u": one.u}


def _budget(share: Uncertain) -> list[dict[str, object]]:
    """The causes of the uncertainty of a share [%], greatest first."""
    parts = sorted(share.causes.items(), key=lambda item: -abs(item[1]))
    return [{"cause": name, "u": abs(part) * 100} for name, part in parts if part]
