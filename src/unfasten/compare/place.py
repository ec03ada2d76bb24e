"""A part of one record seen in the place of a part of another: what both records say of place and donor."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cached_property
from typing import Final

from unfasten.record.joint import Joint
from unfasten.record.paired import is_noticed
from unfasten.record.part import Cable, Part
from unfasten.record.record import Record
from unfasten.record.swaptest import SwapTest, swaps_of

_THREAD: Final = re.compile(r"\s*M\s*(\d+(?:\.\d+)?)", re.ASCII)


@dataclass(frozen=True)
class Exchange:
    """The part `donor` of one record in the place of the part `place` of another."""

    host: Record
    place: str
    source: Record
    donor: str

    @property
    def old(self) -> Part:
        """The part that belongs in the place."""
        return self.host.parts[self.place]

    @property
    def new(self) -> Part:
        """The part that is to go in."""
        return self.source.parts[self.donor]

    @property
    def cables(self) -> tuple[Cable, Cable]:
        """Cables of the old and the new part; empty where there is none."""
        return self.old.cable or Cable(), self.new.cable or Cable()

    @cached_property
    def joints(self) -> tuple[tuple[Joint, ...], tuple[Joint, ...]]:
        """Joints that hold the old part in its place and the new one in its own."""
        return _holding(self.host, self.place), _holding(self.source, self.donor)

    @cached_property
    def screw(self) -> float | None:
        """Nominal diameter of the screws of the place [mm]: of those that hold it to the part that stays, or of all.

        None if there are none, if it is not recorded, or if there are several.
        """
        screws = [joint for joint in self.joints[0] if joint.kind == "screw"]
        fixing = [joint for joint in screws if self.host.frame in joint.holds]
        found = {_diameter(joint.thread) for joint in fixing or screws}
        return found.pop() if len(found) == 1 else None

    @cached_property
    def is_electric(self) -> bool:
        """Tell whether the device can notice the old or the new part."""
        return is_noticed(self.host, self.place) or is_noticed(self.source, self.donor)

    @cached_property
    def tests(self) -> dict[str, SwapTest]:
        """Swap tests of just this exchange, oldest first."""
        return {
            name: test
            for name, test in swaps_of(self.host, self.place, None).items()
            if test.donor.product == self.source.product.id and (test.donor.part or self.place) == self.donor
        }

    def at(self, key: str) -> tuple[str, str]:
        """Places of a key of the old and the new part, each with the id of its product."""
        return (
            f"{self.host.product.id}: parts.{self.place}.{key}",
            f"{self.source.product.id}: parts.{self.donor}.{key}",
        )


def _holding(record: Record, part: str) -> tuple[Joint, ...]:
    return tuple(joint for joint in record.joints.values() if part in joint.holds)


def _diameter(thread: str | None) -> float | None:
    """Nominal diameter of a metric thread [mm].

    >>> _diameter("M1.4 x 0.3")
    1.4
    """
    form = _THREAD.match(thread or "")
    return float(form[1]) if form else None
