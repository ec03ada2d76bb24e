"""Photos on the bench: named, placed on the film's clock, and tied to the entry during which they were taken."""

from __future__ import annotations

import itertools
from collections.abc import Container, Mapping, Sequence
from datetime import datetime, timedelta
from typing import Any, Final

from unfasten.store.entry import Entry

CLOCK: Final = "clock"
#: a photo may be taken this long before the entry that it shows is typed [s]
EARLY_S: Final = 120


def fresh_ids(used: Container[str], stem: str, count: int = 1) -> list[str]:
    """The next free ids: p-001, p-002 …"""
    free = (name for name in (f"{stem}-{number:03d}" for number in itertools.count(1)) if name not in used)
    return list(itertools.islice(free, count))


def film_time(entries: Sequence[Entry], taken: datetime, ahead_s: float = 0.0) -> str | None:
    """The film's clock when a photo was taken, by the last time the clock was set before; None if it was not.

    `taken` needs its offset from UTC; `ahead_s`: by how much the camera's clock is ahead [s].
    """
    when = taken - timedelta(seconds=ahead_s)
    found: str | None = None
    for entry in entries:
        if entry.kind != CLOCK:
            continue
        day = datetime.fromisoformat(str(entry.tree["day"]))
        if day <= when:
            found = clock_text(clock_seconds(str(entry.tree["film"])) + (when - day).total_seconds())
    return found


def entry_shown(log: Sequence[Mapping[str, Any]], film: str) -> int | None:
    """Number of the log entry that a photo shows: the first that follows within two minutes, else the last before.

    An analyst photographs what is about to come off, and what has just come off; entries that have a photo are passed
    over in favour of those that have none.
    """
    at = clock_seconds(film)
    timed = [(number, clock_seconds(str(e["at"]))) for number, e in enumerate(log) if e.get("at")]
    after = [number for number, t in timed if 0 <= t - at <= EARLY_S and not log[number].get("photo")]
    before = [number for number, t in timed if t <= at]
    near = [number for number in before[-1:] if at - clock_seconds(str(log[number]["at"])) <= EARLY_S]
    if near and not log[near[0]].get("photo"):
        return near[0]
    return after[0] if after else None


def clock_seconds(text: str) -> float:
    """Seconds of a time of the film: `0:12:30` is 750."""
    hours, minutes, seconds = text.split(":")
    return int(hours) * 3600 + int(minutes) * 60 + float(seconds)


def clock_text(seconds: float) -> str:
    """A time of the film, to the second."""
    whole = max(0, int(seconds))
    return f"{whole // 3600}:{whole // 60 % 60:02d}:{whole % 60:02d}"
