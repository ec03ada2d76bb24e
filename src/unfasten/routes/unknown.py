"""Unknown covers: what a partial survey leaves open.

With a partial survey, every part that the log lifted (alone or in a bundle) or swung aside before that release or lift,
that the joint does not hold, and that is neither listed as a cover nor in `clear_of`, may or may not be a cover.
A joint, part or bundle that the log never reached has none.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import TypeVar

from unfasten.record.fold import lift_of
from unfasten.record.log import Lifted, Released, Swung
from unfasten.record.record import Record
from unfasten.record.types import Noun

_K = TypeVar("_K")


@dataclass(frozen=True, slots=True)
class Passed:
    """Parts out of the way when the log first released a joint, or first lifted a part alone or a bundle."""

    joints: dict[str, tuple[str, ...]] = field(default_factory=dict)
    parts: dict[str, tuple[str, ...]] = field(default_factory=dict)
    bundles: dict[str, tuple[str, ...]] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Unknown:
    """Unknown covers by joint and way, by part lifted alone, and by bundle. Only non-empty entries are kept."""

    ways: dict[tuple[str, int], tuple[str, ...]]
    parts: dict[str, tuple[str, ...]]
    bundles: dict[str, tuple[str, ...]]

    def __bool__(self) -> bool:
        """Tell whether anything is unknown."""
        return bool(self.ways or self.parts or self.bundles)


def passed(record: Record) -> Passed:
    """Read the log: what had been lifted or swung before each first release and lift."""
    seen: dict[str, None] = {}
    out = Passed()
    for entry in record.log:
        if isinstance(entry, Released):
            out.joints.setdefault(entry.joint, tuple(seen))
        elif isinstance(entry, Lifted) and entry.part is not None:
            out.parts.setdefault(entry.part, tuple(seen))
            seen[entry.part] = None
        elif isinstance(entry, Lifted) and entry.bundle is not None:
            out.bundles.setdefault(entry.bundle, tuple(seen))
            seen.update(dict.fromkeys(record.bundles[entry.bundle].parts))
        elif isinstance(entry, Swung):
            seen[record.swings[entry.swing].part] = None
    return out


def unknown_covers(record: Record) -> Unknown:
    """Give every unknown cover of a record whose log has been folded (`record.fold.fold_log`)."""
    log = passed(record)
    ways = {
        (name, number): _open(log.joints.get(name, ()), joint.holds, way.under, way.clear_of)
        for name, joint in record.joints.items()
        for number, way in enumerate(joint.ways)
        if partial(record, way)
    }
    parts = {
        name: _open(log.parts.get(name, ()), (name,), lift_of(part).behind, lift_of(part).clear_of)
        for name, part in record.parts.items()
        if partial(record, lift_of(part))
    }
    bundles = {
        name: _open(log.bundles.get(name, ()), bundle.parts, bundle.lift.behind, bundle.lift.clear_of)
        for name, bundle in record.bundles.items()
        if partial(record, bundle.lift)
    }
    return Unknown(_kept(ways), _kept(parts), _kept(bundles))


def partial(record: Record, surveyed: Noun) -> bool:
    """Tell whether the survey of a way or lift is partial, by itself or by the record's default."""
    return (getattr(surveyed, "survey", None) or record.setup.survey) == "partial"


def _open(
    seen: Iterable[str], own: Iterable[str], listed: Iterable[Iterable[str]], clear_of: Iterable[str]
) -> tuple[str, ...]:
    known = {*own, *clear_of, *(part for clause in listed for part in clause)}
    return tuple(part for part in seen if part not in known)


def _kept(table: dict[_K, tuple[str, ...]]) -> dict[_K, tuple[str, ...]]:
    return {key: parts for key, parts in table.items() if parts}
