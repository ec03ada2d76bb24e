"""The facts that rules judge: the product's parts with their routes, its tools, and what the maker offers.

Rules do not see the solver; `service` hands its routes over in this form.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from unfasten.record.product import Supply


@dataclass(frozen=True, slots=True)
class Undoing:
    """One release of a route. `tools` are those of the way, `prepared_with` those of its preparations.

    `reuse` is what becomes of the joint (None: not known); `unknown` are parts that may or may not cover it.
    """

    joint: str
    way: int = 0
    reuse: str | None = None
    tools: tuple[str, ...] = ()
    prepared_with: tuple[str, ...] = ()
    unknown: tuple[str, ...] = ()

    @property
    def at(self) -> str:
        """Place of the way in the record."""
        return f"joints.{self.joint}.ways[{self.way}]"


@dataclass(frozen=True, slots=True)
class Taking:
    """A lift of a part or bundle, or a swing, on a route. `parts` are the parts lifted (none by a swing)."""

    kind: str
    id: str
    parts: tuple[str, ...] = ()
    tools: tuple[str, ...] = ()
    unknown: tuple[str, ...] = ()

    @property
    def key(self) -> tuple[str, str]:
        """Kind and id: the same on every route."""
        return self.kind, self.id

    @property
    def at(self) -> str:
        """Place of the lift in the record."""
        return f"{self.kind}s.{self.id}.lift"


@dataclass(frozen=True, slots=True)
class Way:
    """A shortest route. `steps` with the steps for pairing; `bound` is the least that was not excluded.

    The two are equal where the route is proven shortest.
    """

    steps: int
    bound: int
    undoings: tuple[Undoing, ...] = ()
    takings: tuple[Taking, ...] = ()

    @property
    def proven(self) -> bool:
        """Tell whether no route has fewer steps."""
        return self.bound >= self.steps

    def lifted(self) -> frozenset[str]:
        """Parts that are lifted on this route, alone or in a bundle."""
        return frozenset(part for taking in self.takings for part in taking.parts)


@dataclass(frozen=True, slots=True)
class Pairing:
    """Steps for remote notification and authorisation of a part, at least and at most; counted in its routes.

    `why` says what they rest on, `tests` are the swap tests that speak of them. `untested`: steps that could come on
    top if nothing is known but that the record lists no pairing; 0 where that cannot be.
    """

    low: int = 0
    high: int = 0
    why: str = ""
    tests: tuple[str, ...] = ()
    untested: int = 0

    @property
    def is_known(self) -> bool:
        """Tell whether the swap tests leave nothing open."""
        return self.low == self.high


@dataclass(frozen=True, slots=True)
class Piece:
    """A part with a role. `low` and `high` are its routes if no, or every, unknown cover is real.

    `reason` says why a route is missing.
    """

    id: str
    role: str
    low: Way | None = None
    high: Way | None = None
    pairing: Pairing = Pairing()
    reason: str | None = None

    def unknown(self) -> Mapping[str, tuple[str, ...]]:
        """Unknown covers by place, over both routes."""
        found: dict[str, tuple[str, ...]] = {}
        for route in (self.low, self.high):
            if route is not None:
                found |= {u.at: u.unknown for u in route.undoings if u.unknown}
                found |= {t.at: t.unknown for t in route.takings if t.unknown}
        return found


@dataclass(frozen=True, slots=True)
class Product:
    """What a rule set judges. `tools` gives the class of each tool, None where it is not known.

    `names` is what people call parts, bundles, joints and tools, by place in the record (`joints.back-glue`).
    """

    category: str
    pieces: tuple[Piece, ...] = ()
    tools: Mapping[str, str | None] = field(default_factory=dict)
    supply: Supply = field(default_factory=Supply)
    names: Mapping[str, str] = field(default_factory=dict)

    def called(self, section: str, *ids: str) -> str:
        """Names of some parts, bundles, joints or tools with commas; the id where there is no name."""
        return ", ".join(self.names.get(f"{section}.{name}", name) for name in ids)

    def of_role(self, role: str) -> tuple[Piece, ...]:
        """Parts with the role, in the order of the record."""
        return tuple(piece for piece in self.pieces if piece.role == role)
