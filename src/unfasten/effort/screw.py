"""How many turns loosen a screw: between a part and all of its length over its pitch, as far as the record tells."""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from unfasten.effort.tables import Tables
from unfasten.record.joint import Joint

_PITCH: Final = re.compile(r"[xX×]\s*(\d{1,2}(?:\.\d{1,4})?)\s*(?:mm)?\s*$")
_PERCENT: Final = 100


@dataclass(frozen=True, slots=True)
class Spins:
    """Finger spins that loosen one screw, least and most [1]; or what is missing."""

    least: Fraction | None = None
    most: Fraction | None = None
    missing: str | None = None


def pitch_of(thread: str | None) -> Fraction | None:
    """Pitch of a thread written with it, such as `M1.4 x 0.3` [mm]; None where none is written.

    >>> pitch_of("M1.4 x 0.3")
    Fraction(3, 10)
    """
    found = None if thread is None else _PITCH.search(thread)
    pitch = Fraction(found[1]) if found else Fraction(0)
    return pitch or None


def spins_of(joint: Joint, tables: Tables) -> Spins:
    """Spins of one screw of the joint, by the assumptions in the tables."""
    pitch = pitch_of(joint.thread)
    if pitch is None or joint.length is None:
        lacking = [
            word for word, value in (("thread with its pitch", pitch), ("length", joint.length)) if value is None
        ]
        return Spins(missing=f"measure the screw: {' and '.join(lacking)} (keys thread, length)")
    turns = Fraction(joint.length.si) / pitch / tables.screws["turns_per_spin"]
    least, most = (tables.screws[name] / _PERCENT for name in ("engaged_least", "engaged_most"))
    return Spins(turns * least, turns * most)
