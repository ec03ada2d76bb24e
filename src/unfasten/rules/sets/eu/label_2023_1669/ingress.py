"""Protection against objects and water: the IP code."""

from __future__ import annotations

from unfasten.evidence.parameter import Law
from unfasten.rules.case import Case
from unfasten.rules.criterion import Readings
from unfasten.rules.node import Fact
from unfasten.rules.quantity import Measure, quantity
from unfasten.rules.tested import ingress_digits
from unfasten.rules.verdict import Look

PLACE = "tests.ingress"


@quantity("ingress", title="ingress protection", clause="Annexes, ingress protection", needs=("ingress.digits",))
def ingress(case: Case, law: Law, readings: Readings) -> Measure:
    """The code as tested; a digit that was not tested may be any."""
    most, code = law("ingress.digits").table, case.tests.ingress
    digits = ingress_digits(code)
    low = "IP" + "".join(str(0 if digit is None else digit) for digit in digits)
    ends = zip(digits, (most["objects"], most["water"]), strict=True)
    high = "IP" + "".join(str(int(end) if digit is None else digit) for digit, end in ends)
    facts = (Fact(PLACE, code, "measured"),) if code else ()
    kinds = [kind for kind, digit in zip(("objects", "water"), digits, strict=True) if digit is None]
    look = tuple(Look(f"which IP digit does the product reach for {kind}?", PLACE) for kind in kinds)
    reasons = (f"not tested: {' and '.join(kinds)}",) if kinds else ()
    return Measure("ingress", "ingress", "IP code", words=(low, high), reasons=reasons, facts=facts, look=look)
