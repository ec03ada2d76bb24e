"""Making differences: one place that knows the tiers and gathers the evidence of either side."""

from __future__ import annotations

from collections.abc import Iterable
from types import MappingProxyType
from typing import Final

from unfasten.compare.difference import Difference, Effect, Evidence, Kind, Side
from unfasten.compare.measured import Change
from unfasten.compare.sides import Pair, Sided
from unfasten.compare.words import log_places

#: tier of what a difference is about; the rule is stated in `headline`
_TIER_OF_KIND: Final[MappingProxyType[Kind, int]] = MappingProxyType(
    {
        "hazard": 1, "paired": 1, "promised": 1, "re-scored": 2, "re-routed": 3, "re-fastened": 4, "changed": 5,
        "merged": 6, "split": 6, "gone": 6, "new": 6, "moved": 6, "covered": 6, "swings": 6, "bundled": 8,
    }
)  # fmt: skip
_TIER_OF: Final[MappingProxyType[tuple[Kind, str], int]] = MappingProxyType(
    {
        ("re-fastened", "drive"): 7, ("re-fastened", "count"): 7, ("re-fastened", "tools"): 7,
        ("re-fastened", "side"): 7, ("re-fastened", "time"): 8, ("changed", "cable.needed"): 8,
        ("changed", "size"): 8, ("changed", "mass"): 8, ("changed", "components"): 8, ("changed", "marking"): 8,
        ("changed", "name"): 8, ("changed", "role"): 6, ("changed", "product.mass"): 8, ("changed", "product.size"): 8,
        ("changed", "battery.condition"): 1, ("covered", "found under"): 8,
    }
)  # fmt: skip


def tier_of(kind: Kind, what: str) -> int:
    """Tier of a difference, 1 the greatest consequence for repair."""
    return _TIER_OF.get((kind, what), _TIER_OF_KIND[kind])


def difference(
    kind: Kind,
    what: str,
    about: tuple[str | None, str | None],
    texts: tuple[str, str],
    *,
    effect: Effect = "neither",
    owners: Iterable[str] = (),
    measured: Change | None = None,
    evidence: Iterable[Evidence] = (),
    note: str = "",
    hosts: Iterable[str] = (),
    magnitude: float = 0.0,
) -> Difference:
    """Make a difference; evidence is put in order and no piece stands twice."""
    return Difference(
        kind=kind,
        what=what,
        about=about,
        before=texts[0],
        after=texts[1],
        tier=tier_of(kind, what),
        effect=effect,
        owners=tuple(sorted(set(owners))),
        measured=measured,
        evidence=tuple(sorted(set(evidence))),
        note=note,
        hosts=tuple(sorted(hosts)),
        magnitude=magnitude if measured is None else float(measured.ratio),
    )


def both(at: tuple[str, str], says: tuple[str, str], *, measured: bool = False) -> tuple[Evidence, ...]:
    """Evidence of a value on either side."""
    kind = "measured" if measured else "record"
    return (
        Evidence("before", at[0], says[0], kind),  # type: ignore[arg-type]
        Evidence("after", at[1], says[1], kind),  # type: ignore[arg-type]
    )


def seen(pair: Pair, part: str | None = None, joint: tuple[str | None, str | None] = (None, None)) -> list[Evidence]:
    """Entries of both logs about a part (by common name) or joint (by its ids)."""
    out = []
    sides: tuple[tuple[Side, Sided, str | None], ...] = (
        ("before", pair.before, joint[0]),
        ("after", pair.after, joint[1]),
    )
    for side, record, joint_id in sides:
        part_id = record.ids.get(part) if part is not None else None
        out += [Evidence(side, at, says, "log") for at, says in log_places(record, part_id, joint_id)]
    return out


def worse(before: float, after: float) -> Effect:
    """`harder` where the figure grows, `easier` where it falls."""
    return "neither" if before == after else "harder" if after > before else "easier"
