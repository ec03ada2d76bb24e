"""The best pairs of changes, exactly, without trying every pair.

What a pair can gain at most: a role of a score that one change alone can touch gains just what that change gains there;
a role that both can touch may rise to the highest level. Gains in different roles add up, as the index is a weighted
sum. So the single changes are all evaluated first, and pairs in the order of their most, until none can be better.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import combinations

from unfasten.routes.revision import Touch
from unfasten.service.change import Change
from unfasten.service.gauge import Cell, IndexGauge, Key, PartGauge, Points, cells
from unfasten.service.ranking import ENDLESS, Candidate, Gain, ranked
from unfasten.service.trial import Stand, Trial


def best_pairs(stand: Stand, gauge: IndexGauge | PartGauge, changes: Sequence[Change], limit: int) -> tuple[Gain, ...]:
    """The best pairs that gain more than either change alone, best first."""
    if isinstance(gauge, PartGauge):
        return tuple(ranked(stand, gauge, _for_part(stand, gauge, changes), limit))
    return tuple(ranked(stand, gauge, _for_index(stand, gauge, changes), limit))


@dataclass(frozen=True, slots=True)
class _Single:
    """A change that was evaluated: its key, what each role gains, and the roles and offers that it can touch."""

    change: Change
    key: Key
    gains: Mapping[Cell, Points]
    touches: frozenset[str]


def _for_index(stand: Stand, gauge: IndexGauge, changes: Sequence[Change]) -> Iterator[Candidate]:
    singles = [_single(stand, gauge, change) for change in changes]
    for one, two in combinations(singles, 2):
        if _is_pair(one.change, two.change):
            above = max(gauge.zero, one.key, two.key)
            yield Candidate([one.change, two.change], _most(gauge, one, two), above)


def _for_part(stand: Stand, gauge: PartGauge, changes: Sequence[Change]) -> Iterator[Candidate]:
    alone = {change: _alone(stand, gauge, change) for change in changes}
    for one, two in combinations(changes, 2):
        if _is_pair(one, two):
            yield Candidate([one, two], ENDLESS, max(gauge.zero, alone[one], alone[two]))


def _alone(stand: Stand, gauge: PartGauge, change: Change) -> Key:
    trial = Trial(stand, [change])
    trial.settle_all()
    return gauge.exact(trial)


def _single(stand: Stand, gauge: IndexGauge, change: Change) -> _Single:
    trial = Trial(stand, [change])
    trial.settle_all()
    verdict = gauge.verdict_of(trial)
    before = cells(gauge.verdict)
    after = cells(verdict)
    gains = {cell: (low - before[cell][0], high - before[cell][1]) for cell, (low, high) in after.items()}
    key: Key = (sum((low for low, _ in gains.values()), Fraction(0)), sum((h for _, h in gains.values()), Fraction(0)))
    return _Single(change, key, {cell: gain for cell, gain in gains.items() if any(gain)}, _touches(stand, change))


def _touches(stand: Stand, change: Change) -> frozenset[str]:
    """Roles in whose points a change can have a part, or the offer that it is about."""
    path = change.edit.path
    if path[0] == "supply":
        return frozenset({f"supply.{path[1]}"})
    names: set[str] = set(stand.targets)
    if path[-1] == "pairing":
        names = {str(path[1])}
    elif change.touched is not None:
        events = list(change.touched)
        if path[-1] == "reuse":
            events.append(("joint", str(path[1])))
        if path[0] == "tools":
            events += _users(stand, str(path[1]))
        near = {name for name in names if any(w.touches(name, events) for w in (stand.low, stand.high))}
        names = {name for name in names if name in near or stand.near.others[name] & near}
    return frozenset(str(stand.record.parts[name].role or name) for name in names)


def _users(stand: Stand, tool: str) -> list[Touch]:
    """Events that use a tool, in a way, a preparation or a lift."""
    record = stand.record
    out: list[Touch] = []
    for name, joint in record.joints.items():
        if any(tool in (*way.tools, *(t for p in way.prepare for t in p.tools)) for way in joint.ways):
            out.append(("joint", name))
    out += [("part", n) for n, p in record.parts.items() if not p.stays and p.lift and tool in p.lift.tools]
    out += [("bundle", n) for n, bundle in record.bundles.items() if tool in bundle.lift.tools]
    out += [("swing", n) for n, swing in record.swings.items() if tool in swing.lift.tools]
    return out


def _is_pair(one: Change, two: Change) -> bool:
    """Two values for one place are alternatives, and what is set to nothing cannot lose one thing more."""
    return one.edit.path != two.edit.path or (one.edit.op == two.edit.op != "=")


def _most(gauge: IndexGauge, one: _Single, two: _Single) -> Key:
    shared = one.touches & two.touches
    low = high = Fraction(0)
    for single in (one, two):
        for (score, role), gain in single.gains.items():
            if (role or gauge.offer_of(score)) not in shared:
                low += gain[0]
                high += gain[1]
    for name in shared:
        rise = gauge.room(name)
        low += rise[0]
        high += rise[1]
    return low, high
