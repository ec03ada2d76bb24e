"""What changed from one battery to another: each figure beside its predecessor, and whether the change is sure."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from unfasten.battery.fact import Fact
from unfasten.battery.sheet import Sheet

#: coverage factor for calling a difference sure: about 95 % (JCGM 100, 6.2; our choice)
COVERAGE: Final = 2
#: figures that are compared, in the order of the sheet
COMPARED: Final = (
    "nominal-voltage", "charge-voltage", "capacity", "marked-energy", "cells", "chemistry", "enclosure", "condition",
    "thickness", "mass", "wh-per-l", "wh-per-kg", "bay-share", "growth", "gap",
)  # fmt: skip
#: figures printed on a label: two different marks differ, whatever their uncertainty
PRINTED: Final = frozenset({"nominal-voltage", "charge-voltage", "capacity", "marked-energy"})


@dataclass(frozen=True, slots=True)
class Change:
    """A figure of two batteries: `sure` True or False where the difference can be judged, None where it cannot."""

    id: str
    title: str
    before: Fact
    after: Fact
    difference: float | None
    u: float | None
    percent: float | None
    sure: bool | None
    says: str

    @property
    def text(self) -> str:
        """The difference with its unit and share, as a sheet prints it."""
        if self.difference is None:
            return "same" if self.sure is False else "differs" if self.sure else "unknown"
        share = "" if self.percent is None else f" ({self.percent:+.1f} %)"
        unit = "%-points" if self.after.unit == "%" else self.after.unit
        return f"{self.difference:+.{self.after.places}f} {unit}{share}"

    def as_json(self) -> dict[str, object]:
        """Give the JSON form."""
        return {
            "id": self.id,
            "title": self.title,
            "unit": self.after.unit,
            "before": self.before.value,
            "after": self.after.value,
            "difference": self.difference,
            "u": self.u,
            "percent": self.percent,
            "sure": self.sure,
            "says": self.says,
        }


def changes(before: Sheet, after: Sheet) -> tuple[Change, ...]:
    """Every compared figure of two sheets, in the order of `COMPARED`."""
    return tuple(_changes(before, after))


def _changes(before: Sheet, after: Sheet) -> Iterator[Change]:
    comparable = before.makeup.series is not None and before.makeup.series == after.makeup.series
    for name in COMPARED:
        one, two = before.fact(name), after.fact(name)
        says = "" if comparable or name != "capacity" else "mAh do not compare across cells in series; compare Wh"
        if name in ("nominal-voltage", "charge-voltage") and not comparable:
            says = "of the whole battery; the cells in series differ or are not known"
        yield _change(one, two, says)


def _change(one: Fact, two: Fact, says: str) -> Change:
    if one.value is None or two.value is None:
        missing = " and ".join(word for word, fact in (("before", one), ("after", two)) if fact.value is None)
        return Change(two.id, two.title, one, two, None, None, None, None, says or f"not known {missing}")
    if isinstance(one.value, str) or isinstance(two.value, str):
        return Change(two.id, two.title, one, two, None, None, None, one.value != two.value, says)
    difference = two.value - one.value
    u = math.hypot(one.u, two.u) if one.u is not None and two.u is not None else None
    percent = 100 * difference / one.value if one.value and two.unit != "%" else None
    if two.id in PRINTED and u is None:
        sure: bool | None = difference != 0
    elif u is None:
        sure, says = None, says or "uncertainty not assessed"
    else:
        sure = abs(difference) > COVERAGE * u
        says = says or ("more" if sure else "no more") + f" than {COVERAGE} x its uncertainty of {u:.{two.places}f}"
    return Change(two.id, two.title, one, two, difference, u, percent, sure, says)
