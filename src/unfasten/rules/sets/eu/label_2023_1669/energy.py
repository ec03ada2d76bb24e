"""Endurance on one charge, and the energy efficiency index with its class."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from unfasten.evidence.interval import Interval, round_half_up
from unfasten.evidence.parameter import Law
from unfasten.evidence.quantity import Quantity as Measured
from unfasten.rules.case import Case
from unfasten.rules.criterion import Grade, Readings
from unfasten.rules.node import Fact, Origin
from unfasten.rules.quantity import Measure, number_text, quantity
from unfasten.rules.scoring import Row, number, words
from unfasten.rules.tested import hours, spread
from unfasten.rules.verdict import Look

PHONES = ("smartphone", "foldable-smartphone")
ENDURANCE = Look("how long does one charge last in the test of the label?", "tests.endurance")
VOLTAGE = Look("which nominal voltage is on the battery's label?", "parts.battery.battery.nominal_voltage")
CAPACITY = Look("which rated capacity is on the battery's label?", "parts.battery.battery.rated_capacity")


@quantity("END", title="battery endurance per cycle", clause="Annexes, battery endurance per cycle", needs=())
def endurance(case: Case, law: Law, readings: Readings) -> Measure:
    """Hours on one charge."""
    time = case.tests.endurance
    if time is None:
        return Measure("END", "END", "h", reasons=("not measured",), look=(ENDURANCE,))
    return Measure("END", "END", "h", hours(time), facts=(Fact("tests.endurance", str(time), "measured"),))


@quantity(
    "EEI",
    title="energy efficiency index",
    clause="Annexes, energy efficiency classes",
    needs=("energy.factor", "energy.decimals", "energy.classes_phone", "energy.classes_tablet"),
)
def energy(case: Case, law: Law, readings: Readings) -> Measure:
    """Endurance over nominal voltage times rated capacity, and the class of it."""
    rows = law("energy.classes_phone" if case.category in PHONES else "energy.classes_tablet").rows
    battery = case.battery
    found: Sequence[tuple[Measured | None, Look]] = (
        (case.tests.endurance, ENDURANCE),
        (battery.nominal_voltage if battery else None, VOLTAGE),
        (battery.rated_capacity if battery else None, CAPACITY),
    )
    ends = Grade(words(rows[-1], "class")[0], words(rows[0], "class")[0])
    facts = tuple(Fact(look.where, str(value), _origin(look)) for value, look in found if value is not None)
    missing = tuple(look for value, look in found if value is None)
    time, voltage, capacity = (value for value, _ in found)
    if time is None or voltage is None or capacity is None:
        return Measure("EEI", "EEI", "1/W", grade=ends, reasons=("a figure is missing",), facts=facts, look=missing)
    if not spread(voltage).low or not spread(capacity).low:
        why = ("the voltage or the capacity may be 0",)
        return Measure("EEI", "EEI", "1/W", grade=ends, reasons=why, facts=facts, look=(VOLTAGE, CAPACITY))
    index = _over(hours(time), spread(voltage), spread(capacity), law("energy.factor").number)
    grade = _grade(index, rows, law, readings)
    reasons = (f"{law('energy.factor').number} x {time} in h / ({voltage} x {capacity})", *grade.reasons)
    look = () if grade.is_known else tuple(look for value, look in found if value is not None and value.u)
    places = int(law("energy.decimals").number)
    return Measure("EEI", "EEI", "1/W", index, grade=grade, reasons=reasons, facts=facts, look=look, places=places)


def _origin(look: Look) -> Origin:
    return "measured" if look is ENDURANCE else "seen"


def _over(time: Interval, voltage: Interval, capacity: Interval, factor: Fraction) -> Interval:
    """Factor times time over the product of two figures above 0."""
    low = factor * time.low / (voltage.high * capacity.high)
    return Interval(low, factor * time.high / (voltage.low * capacity.low))


def _grade(index: Interval, rows: Sequence[Row], law: Law, readings: Readings) -> Grade:
    (low, why_low), (high, why_high) = (_letter(value, rows, law, readings) for value in (index.low, index.high))
    return Grade(low, high, (why_low,) if index.is_known else (why_low, why_high))


def _letter(value: Fraction, rows: Sequence[Row], law: Law, readings: Readings) -> tuple[str, str]:
    places = int(law("energy.decimals").number)
    text = number_text(value)
    if readings["eei-rounding"] == "rounded-first":
        value = round_half_up(value, places)
        text += f", rounded to {number_text(value)} first,"
    for row in rows:
        if "above" not in row or value > number(row, "above"):
            letter = words(row, "class")[0]
            why = f"above {number_text(number(row, 'above'))}" if "above" in row else "below the others"
            return letter, f"{text} is class {letter}, {why}"
    raise ValueError(f"an index of {value} lies below every class")
