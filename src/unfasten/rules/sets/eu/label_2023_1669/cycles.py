"""Battery endurance in cycles: full hundreds of cycles down to the capacity at which it ends."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction

from unfasten.evidence.interval import Interval
from unfasten.evidence.parameter import Law
from unfasten.rules.case import Case
from unfasten.rules.criterion import Readings
from unfasten.rules.node import Fact
from unfasten.rules.quantity import Measure, quantity
from unfasten.rules.tested import cycles_above
from unfasten.rules.verdict import Look

PLACE = "tests.capacity"


@quantity(
    "cycles",
    title="battery endurance in cycles",
    clause="Annexes, battery endurance in cycles",
    needs=("cycles.left", "cycles.levels"),
)
def cycles(case: Case, law: Law, readings: Readings) -> Measure:
    """The number as the label states it, rounded down to full steps."""
    share, levels = law("cycles.left").number, law("cycles.levels").table
    surely, below = cycles_above(case.tests.capacity, share)
    step = int(levels["step"])
    low = surely // step * step
    most = None if below is None else max(low, (below - 1) // step * step)
    high = int(levels["most"]) if most is None else most
    shown = _stated(low, levels), _stated(max(low, high), levels)
    look = Look(f"measure the capacity after more than {surely} cycles, up to {int(levels['most'])}", PLACE)
    facts = tuple(Fact(PLACE, f"{r.left} after {r.cycles} cycles", "measured") for r in case.tests.capacity)
    upto = "how much longer is not known" if below is None else f"no longer before {below} cycles"
    return Measure(
        "cycles",
        "cycles",
        "cycle",
        Interval(Fraction(low), Fraction(low if most is None else most)) if case.tests.capacity else None,
        most is None,
        words=shown,
        reasons=(f"{int(share)} % left after {surely} cycles for certain, {upto}",),
        facts=facts,
        look=() if shown[0] == shown[1] else (look,),
    )


def _stated(number: int, levels: Mapping[str, Fraction]) -> str:
    """`>= 1000`, at most the greatest number that is stated; below the least one `< 800`."""
    if number < levels["least"]:
        return f"< {int(levels['least'])}"
    return f">= {min(number, int(levels['most']))}"
