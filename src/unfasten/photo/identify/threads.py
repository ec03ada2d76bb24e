"""Which screw threads a measured outer diameter and pitch can be: a set, never one of several in silence.

A thread is a candidate if the outer diameter reaches its limits and the pitch its nominal pitch, both within `k`
standard uncertainties. Limits of the outer diameter are those of bolts, class 6g, where they were read; a size of the
same pitch has the same width (ISO 965 gives it by pitch); of other sizes only the bracket [d - w, d] is known. There
`w` is the lower deviation of the next coarser pitch that was read, since deviations grow with the pitch. The outside of
a screw is always below its nominal diameter: it is never rounded to the nearest.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cache
from itertools import combinations
from typing import Final, Literal

from unfasten.photo.identify.figures import figure, number, rows, word
from unfasten.photo.identify.window import COVERAGE_FACTOR, Measured, Window, agreement

Family = Literal["ISO 262 first choice", "ISO metric", "old Japanese", "ISO 1501 miniature", "inch"]
Basis = Literal["read", "same pitch", "bracket"]
_INCH: Final = 25.4
#: slack for decimals that binary numbers do not hold
_HAIR: Final = 1e-9


@dataclass(frozen=True, slots=True)
class Thread:
    """A thread: nominal diameter `d` and `pitch` [mm], limits of the outer diameter, and what they rest on."""

    name: str
    family: Family
    d: float
    pitch: float
    limits: Window
    basis: Basis
    source: str

    @property
    def pitch_diameter(self) -> float:
        """d2 = d - 0.649519 P [mm] (ISO 724)."""
        return self.d - 3 * math.sqrt(3) / 8 * self.pitch

    @property
    def minor_diameter(self) -> float:
        """D1 = d - 1.082532 P [mm], what the crests of a threaded hole leave open (ISO 724)."""
        return self.d - 5 * math.sqrt(3) / 8 * self.pitch

    @property
    def root_diameter(self) -> float:
        """d3 = d - 1.226869 P [mm], the core of the screw (ISO 68-1)."""
        return self.d - 17 * math.sqrt(3) / 24 * self.pitch

    @property
    def stress_area(self) -> float:
        """As = pi/4 ((d2 + d3) / 2)^2 [mm2]."""
        return math.pi / 4 * ((self.pitch_diameter + self.root_diameter) / 2) ** 2

    def as_json(self) -> dict[str, object]:
        """The thread with its limits, in mm."""
        return {
            "name": self.name,
            "family": self.family,
            "nominal_mm": self.d,
            "pitch_mm": round(self.pitch, 4),
            "outer_mm": [round(self.limits.low, 3), round(self.limits.high, 3)],
            "limits": self.basis,
            "hole_mm": round(self.minor_diameter, 3),
            "source": self.source,
        }


@dataclass(frozen=True, slots=True)
class Separation:
    """Two candidates, and how well a length would have to be known to tell them apart; None: it cannot."""

    one: str
    other: str
    u_diameter: float | None
    u_pitch: float | None

    def __str__(self) -> str:
        """Give one sentence."""
        ways = [
            f"at any reading by {what} if its u is below {u:.4f} mm"
            for what, u in (("diameter", self.u_diameter), ("pitch", self.u_pitch))
            if u is not None
        ]
        how = " or ".join(ways) or "by neither length; try a gauge or a nut of known thread"
        return f"{self.one} and {self.other}: {how}"

    def as_json(self) -> dict[str, object]:
        """Names and the uncertainties [mm]."""
        return {"between": [self.one, self.other], "u_diameter_mm": self.u_diameter, "u_pitch_mm": self.u_pitch}


@dataclass(frozen=True, slots=True)
class ThreadSet:
    """What a screw can be; `near` are threads that just miss, each with the reason."""

    diameter: Measured
    pitch: Measured | None
    k: float
    candidates: tuple[Thread, ...]
    near: tuple[tuple[Thread, str], ...]
    separations: tuple[Separation, ...]
    says: tuple[str, ...]

    def agreement(self, thread: Thread) -> float:
        """How well the lengths agree with a thread [%] (`window.agreement`); it ranks the set."""
        return _agreement(thread, self.diameter, self.pitch, self.k)

    def as_json(self) -> dict[str, object]:
        """Everything in JSON."""
        return {
            "diameter_mm": {"value": self.diameter.value, "u": self.diameter.u},
            "pitch_mm": None if self.pitch is None else {"value": self.pitch.value, "u": self.pitch.u},
            "k": self.k,
            "candidates": [
                {**thread.as_json(), "agreement_percent": round(self.agreement(thread), 1)}
                for thread in self.candidates
            ],
            "near": [{"name": thread.name, "reason": reason} for thread, reason in self.near],
            "apart": [one.as_json() for one in self.separations],
            "says": list(self.says),
        }


def threads_for(diameter: Measured, pitch: Measured | None, day: date, k: float = COVERAGE_FACTOR) -> ThreadSet:
    """The set of threads that a screw of this outer diameter and pitch can be, those that agree best first.

    Among equals preferred sizes stand first.
    `pitch` None: it was not measured, and does not exclude anything.
    """
    every = known_threads(day)
    fits = sorted(
        (thread for thread in every if not _misses(thread, diameter, pitch, k)),
        key=lambda thread: -round(_agreement(thread, diameter, pitch, k), 6),
    )
    near = sorted(
        (thread for thread in every if thread not in fits and _is_near(thread, diameter, pitch, k)),
        key=lambda thread: (thread.limits.outside(diameter.value), thread.name),
    )
    apart = tuple(_separation(one, other, k) for one, other in combinations(fits, 2))
    told = tuple((thread, _misses(thread, diameter, pitch, k)) for thread in near[:4])
    return ThreadSet(diameter, pitch, k, tuple(fits), told, apart, tuple(_says(fits, every, pitch)))


@cache
def known_threads(day: date) -> tuple[Thread, ...]:
    """Every thread that is known on a day, preferred families first, each in order of diameter."""
    return (*_metric(day, 1), *_metric(day, 2), *_trade(day), *_miniature(day), *_inch(day))


def _metric(day: date, choice: int) -> Iterator[Thread]:
    family: Family = "ISO 262 first choice" if choice == 1 else "ISO metric"
    for table, row in rows("threads.iso", day):
        if number(row, "choice") == choice:
            yield _thread(word(row, "name"), family, number(row, "d"), number(row, "pitch"), table.cite.doc, day)


def _trade(day: date) -> Iterator[Thread]:
    for table, row in rows("threads.trade", day):
        yield _thread(word(row, "name"), "old Japanese", number(row, "d"), number(row, "pitch"), table.cite.doc, day)


def _miniature(day: date) -> Iterator[Thread]:
    for table, row in rows("threads.miniature", day):
        doc = table.cite.doc
        yield _thread(word(row, "name"), "ISO 1501 miniature", number(row, "d"), number(row, "pitch"), doc, day)


def _inch(day: date) -> Iterator[Thread]:
    for table, row in rows("threads.inch", day):
        d = (0.060 + 0.013 * number(row, "number")) * _INCH
        yield _thread(word(row, "name"), "inch", d, _INCH / number(row, "threads_per_inch"), table.cite.doc, day)


def _thread(name: str, family: Family, d: float, pitch: float, doc: str, day: date) -> Thread:
    limits, basis = _limits(name, family, d, pitch, day)
    return Thread(name, family, d, pitch, limits, basis, doc)


def _limits(name: str, family: Family, d: float, pitch: float, day: date) -> tuple[Window, Basis]:
    table = figure("threads.limits_6g", day).rows
    read = sorted(
        (number(r, "pitch"), number(r, "d"), number(r, "min"), number(r, "max"), word(r, "name")) for r in table
    )
    for _, _, low, high, named in read:
        if named == name:
            return Window(low, high), "read"
    if family in ("ISO metric", "ISO 262 first choice", "old Japanese"):
        for its_pitch, its_d, low, high, _ in read:
            if abs(its_pitch - pitch) < _HAIR:
                return Window(d - (its_d - low), d - (its_d - high)), "same pitch"
    coarser = next((row for row in read if row[0] >= pitch - _HAIR), read[-1])
    width = (coarser[1] - coarser[2]) * max(1.0, pitch / coarser[0])
    return Window(d - width, d), "bracket"


def _agreement(thread: Thread, diameter: Measured, pitch: Measured | None, k: float) -> float:
    pairs = [(thread.limits, diameter)]
    if pitch is not None:
        pairs.append((Window(thread.pitch, thread.pitch), pitch))
    return agreement(pairs, k)


def _misses(thread: Thread, diameter: Measured, pitch: Measured | None, k: float) -> str:
    """Why the thread is no candidate; empty if it is one."""
    if not thread.limits.may_be(diameter, k):
        return f"its outside is {thread.limits.text}, {diameter.text} was measured"
    if pitch is not None and not Window(thread.pitch, thread.pitch).may_be(pitch, k):
        return f"its pitch is {thread.pitch:.4g} mm, {pitch.text} was measured"
    return ""


def _is_near(thread: Thread, diameter: Measured, pitch: Measured | None, k: float) -> bool:
    """Tell whether the thread would fit if the uncertainties were three times as large."""
    wider = None if pitch is None else Measured(pitch.value, 3 * pitch.u)
    return not _misses(thread, Measured(diameter.value, 3 * diameter.u), wider, k)


def _separation(one: Thread, other: Thread, k: float) -> Separation:
    """Windows widened by k u on either side must not meet: u below a (2k)th of the gap."""
    small, large = sorted((one, other), key=lambda thread: thread.limits.low)
    gap, step = large.limits.low - small.limits.high, abs(one.pitch - other.pitch)
    return Separation(
        one.name, other.name, gap / (2 * k) if gap > _HAIR else None, step / (2 * k) if step > _HAIR else None
    )


def _says(fits: Sequence[Thread], every: Sequence[Thread], pitch: Measured | None) -> Iterator[str]:
    if not fits:
        low, high = min(thread.d for thread in every), max(thread.d for thread in every)
        yield (
            f"no known thread from {low:g} to {high:g} mm fits; a thread-forming screw for plastics or sheet has none"
            " of them: note its diameter and pitch"
        )
    if len(fits) > 1:
        yield "several threads fit; none is chosen"
    if pitch is None:
        yield "the pitch was not measured; over n threads its u is that of the length divided by n"
    if any(thread.basis == "bracket" for thread in fits):
        yield "where limits are a bracket no tolerance was read: the set may be too wide, not too narrow"
    if fits:
        yield "limits are those of unused bolts of class 6g; wear, coating and burrs move a reading"
