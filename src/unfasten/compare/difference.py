"""A difference between two records, with the evidence for it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import Final, Literal

from unfasten.compare.measured import Change

Kind = Literal[
    "hazard", "paired", "promised", "re-scored", "re-routed", "re-fastened", "changed", "merged", "split", "gone",
    "new", "moved", "covered", "swings", "bundled",
]  # fmt: skip
Effect = Literal["harder", "easier", "open", "neither"]
Side = Literal["before", "after"]

_MIRROR_KIND: Final[MappingProxyType[Kind, Kind]] = MappingProxyType(
    {"merged": "split", "split": "merged", "gone": "new", "new": "gone"}
)
_MIRROR_EFFECT: Final[MappingProxyType[Effect, Effect]] = MappingProxyType({"harder": "easier", "easier": "harder"})
_MIRROR_SIDE: Final[MappingProxyType[Side, Side]] = MappingProxyType({"before": "after", "after": "before"})


@dataclass(frozen=True, slots=True, order=True)
class Evidence:
    """What a difference rests on: a place in one of the two records and what stands there.

    `kind`: a place of the record, a measurement, an entry of the log, or computed.
    """

    side: Side
    at: str
    says: str
    kind: Literal["record", "measured", "log", "computed"] = "record"


@dataclass(frozen=True, slots=True)
class Difference:
    """One difference from the record before to the record after.

    `about` are the ids of the part or joint on either side (None: not there); `what` names the property. `tier` is the
    consequence for repair: 1 the greatest (see `headline`). `owners` are the parts it bears on, by common name; `hosts`
    the parts on which a new or gone part sits, where all of these are new or gone themselves. `magnitude` orders
    differences of one tier, the same seen from either side.
    """

    kind: Kind
    what: str
    about: tuple[str | None, str | None]
    before: str
    after: str
    tier: int
    effect: Effect = "neither"
    owners: tuple[str, ...] = ()
    measured: Change | None = None
    evidence: tuple[Evidence, ...] = ()
    note: str = ""
    hosts: tuple[str, ...] = ()
    magnitude: float = 0.0

    @property
    def key(self) -> tuple[str, str, tuple[str, ...]]:
        """What the difference is, whichever way it is seen: for order and for mirroring."""
        kinds = {"split": "merged", "gone": "new"}
        return kinds.get(self.kind, self.kind), self.what, tuple(sorted(name or "" for name in self.about))

    def mirrored(self) -> Difference:
        """The same difference seen from the other record."""
        return replace(
            self,
            kind=_MIRROR_KIND.get(self.kind, self.kind),
            about=(self.about[1], self.about[0]),
            before=self.after,
            after=self.before,
            effect=_MIRROR_EFFECT.get(self.effect, self.effect),
            measured=None if self.measured is None else self.measured.mirrored(),
            evidence=tuple(sorted(replace(item, side=_MIRROR_SIDE[item.side]) for item in self.evidence)),
        )
