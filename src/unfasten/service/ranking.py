"""Changes in the order of what they gain, best first, each evaluated exactly before it is named.

Each change waits with the most that it can still gain, which falls as its routes are found one after the other. When
the first in the queue is exact, nothing behind it can be better. A change whose most is below the last one that is
named is never finished, and needs not be.
"""

from __future__ import annotations

import heapq
import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from unfasten.record.change import EditError
from unfasten.service.change import Change
from unfasten.service.gauge import Gauge, Key
from unfasten.service.trial import Stand, Trial

#: no bound is known
ENDLESS: Final[Key] = (math.inf, math.inf, math.inf, math.inf)


@dataclass(frozen=True, slots=True)
class Gain:
    """A change, or a pair, that was tried, with the key by which it ranks."""

    trial: Trial
    key: Key

    @property
    def changes(self) -> tuple[Change, ...]:
        """The changes."""
        return self.trial.changes


@dataclass(frozen=True, slots=True)
class Candidate:
    """Changes to be tried together, a key that theirs cannot exceed, and one that it must exceed to be named."""

    changes: Sequence[Change]
    most: Key
    above: Key


def single(stand: Stand, gauge: Gauge, change: Change) -> Candidate:
    """One change, with what it can gain at first sight."""
    most = ENDLESS if change.moves_points else gauge.ceiling(Trial(stand, [change]))
    return Candidate([change], most, gauge.zero)


def ranked(stand: Stand, gauge: Gauge, candidates: Iterable[Candidate], limit: int) -> Iterator[Gain]:
    """The best candidates, best first, at most `limit`; equals in the order given."""
    queue: list[tuple[Key, int, Candidate, Trial | None, bool]] = [
        (_turned(candidate.most), number, candidate, None, False)
        for number, candidate in enumerate(candidates)
        if candidate.most > candidate.above
    ]
    heapq.heapify(queue)
    found = 0
    while queue and found < limit:
        minus, number, candidate, trial, is_exact = heapq.heappop(queue)
        if is_exact and trial is not None:
            found += 1
            yield Gain(trial, _turned(minus))
            continue
        trial = trial or Trial(stand, candidate.changes)
        try:
            key, is_exact = _advance(gauge, trial, _turned(minus))
        except EditError:  # one of two changes takes out what the other has taken out already
            continue
        if key > candidate.above:
            heapq.heappush(queue, (_turned(key), number, candidate, trial, is_exact))


def _advance(gauge: Gauge, trial: Trial, most: Key) -> tuple[Key, bool]:
    """Do the next piece of work on a trial; give its key now, and whether that is exact."""
    if not trial.prepared:
        trial.prepare()
    elif trial.loose:
        trial.tighten(max(trial.loose, key=gauge.weight))
    elif trial.open:
        trial.settle(max(trial.open, key=gauge.weight))
    if not trial.open:
        return gauge.exact(trial), True
    return tuple(map(min, most, gauge.ceiling(trial))), False


def _turned(key: Key) -> Key:
    """The key with its order turned round."""
    return tuple(-part for part in key)
