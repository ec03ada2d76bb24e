"""Which parts of two to eight records are the same part: optimal assignment over how alike they are."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from unfasten.compare.likeness import LEAST, Likeness, Profile, likeness, profiles
from unfasten.compare.pins import Pins
from unfasten.record.record import Record

#: a pinned pair outweighs every other reason
PINNED: Final = 100.0
#: below this score a match is weak, and says so
WEAK: Final = 0.5


@dataclass(frozen=True, slots=True)
class Row:
    """One part over all records: its id in each (None: not there), and why they were taken for the same.

    `score` is that of the weakest link; 1 or more where there is nothing to doubt.
    """

    members: tuple[str | None, ...]
    reasons: tuple[str, ...] = ()
    score: float = 1.0

    @property
    def is_weak(self) -> bool:
        """Tell whether a person should look at the match."""
        return self.score < WEAK

    @property
    def name(self) -> str:
        """The id it goes by: the first one."""
        return next(member for member in self.members if member is not None)


@dataclass(frozen=True, slots=True)
class _Open:
    """A row while it grows: members by record."""

    members: dict[int, str]
    reasons: tuple[str, ...]
    score: float


def align(records: Sequence[Record], pins: Pins | None = None) -> tuple[Row, ...]:
    """Align the parts of the records.

    Records are taken up one after another in an order of their own (day of release, id, content), so that the answer
    does not depend on the order in which they are given. Each is assigned to the rows so far with the greatest sum of
    scores (linear sum assignment); a pair that scores below the least, or that a person broke, stays apart.
    """
    order = sorted(range(len(records)), key=lambda number: age(records[number], records))
    known: dict[tuple[object, ...], Profile] = {}
    seen = [{name: known.setdefault(one.face, one) for name, one in profiles(r).items()} for r in records]
    rows = [_Open({order[0]: part}, (), 1.0) for part in sorted(seen[order[0]])]
    alike: dict[tuple[int, int], Likeness] = {}
    for number in order[1:]:
        rows = _joined(rows, number, _Seen(seen, pins or Pins(), alike))
    place = {part: index for number in reversed(order) for index, part in enumerate(records[number].parts)}
    done = [Row(tuple(row.members.get(n) for n in range(len(records))), row.reasons, row.score) for row in rows]
    return tuple(sorted(done, key=lambda row: (place[row.name], row.members.count(None), str(row.members))))


def age(record: Record, among: Sequence[Record]) -> tuple[str, str, str]:
    """What orders records: day of release, id, and the content where two records have the same day and id."""
    mine = _named(record)
    if sum(_named(other) == mine for other in among) < 2:
        return (*mine, "")
    return (*mine, json.dumps(record.model_dump(mode="json", by_alias=True), sort_keys=True))


def _named(record: Record) -> tuple[str, str]:
    released = record.product.released
    return released.isoformat() if released else "", record.product.id


@dataclass(frozen=True, slots=True)
class _Seen:
    """Profiles by record (equal faces share one object), what a person said, and likenesses already worked out."""

    profiles: list[dict[str, Profile]]
    pins: Pins
    alike: dict[tuple[int, int], Likeness]

    def likeness(self, a: Profile, b: Profile) -> Likeness:
        key = (id(a), id(b))
        found = self.alike.get(key)
        if found is None:
            found = self.alike[key] = likeness(a, b)
        return found


def _joined(rows: list[_Open], number: int, seen: _Seen) -> list[_Open]:
    from numpy import zeros
    from scipy.optimize import linear_sum_assignment  # type: ignore[import-untyped]

    parts = sorted(seen.profiles[number])
    pinned = bool(seen.pins.pairs or seen.pins.breaks)
    faces = [_faces(row, seen) for row in rows]
    scores = []
    for row, own in zip(rows, faces, strict=True):
        line = [_best(own, seen.profiles[number][part], seen) for part in parts]
        scores.append([_said(row, number, p, seen, x) for p, x in zip(parts, line, strict=True)] if pinned else line)
    gain = zeros((len(rows), len(parts)))
    for i, line in enumerate(scores):
        for j, found in enumerate(line):
            gain[i, j] = max(found.score - LEAST, 0.0)
    taken = {int(j): int(i) for i, j in zip(*linear_sum_assignment(gain, maximize=True), strict=True) if gain[i, j] > 0}
    for j, i in taken.items():
        found, row = scores[i][j], rows[i]
        reasons = tuple(dict.fromkeys((*row.reasons, *found.reasons)))
        rows[i] = _Open({**row.members, number: parts[j]}, reasons, min(row.score, found.score))
    return rows + [_Open({number: part}, (), 1.0) for j, part in enumerate(parts) if j not in taken]


def _faces(row: _Open, seen: _Seen) -> tuple[Profile, ...]:
    return tuple({id(one): one for n, member in row.members.items() for one in [seen.profiles[n][member]]}.values())


def _best(faces: tuple[Profile, ...], part: Profile, seen: _Seen) -> Likeness:
    """The best likeness of the part with a member of the row."""
    best = seen.likeness(faces[0], part)
    for face in faces[1:]:
        found = seen.likeness(face, part)
        if found.score > best.score:
            best = found
    return best


def _said(row: _Open, number: int, part: str, seen: _Seen, best: Likeness) -> Likeness:
    """What a person said of the part and a member of the row comes before how alike they are."""
    for other, member in row.members.items():
        pair = ((other, member), (number, part))
        if pair in seen.pins.breaks or pair[::-1] in seen.pins.breaks:
            return Likeness(0.0, ())
        if pair in seen.pins.pairs or pair[::-1] in seen.pins.pairs:
            return Likeness(PINNED, ("paired by a person",))
    return best
