"""Everything told of one battery, joined: its facts, the readings of its label, rulings, and reasons for caution."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from unfasten.battery.bay import fill_facts, gap, growth, swelling
from unfasten.battery.energy import Energy, energy_of, wh
from unfasten.battery.fact import Fact, Origin, Ruling
from unfasten.battery.figures import stale
from unfasten.battery.handling import Heating, Reason, reasons
from unfasten.battery.makeup import COUNT, LETTERS, Makeup, makeup_of
from unfasten.battery.marking import markings
from unfasten.battery.ranking import Ranked, rank
from unfasten.battery.transport import road_class, transport, un_numbers
from unfasten.evidence.quantity import Quantity
from unfasten.record.part import Battery
from unfasten.record.record import Record


@dataclass(frozen=True, slots=True)
class Sheet:
    """All of one battery on a day; `part` is its id in the record. `remarks` are contradictions and open readings."""

    part: str
    name: str
    on: date
    facts: tuple[Fact, ...]
    energy: Energy
    makeup: Makeup
    designation: str | None
    readings: tuple[Ranked, ...]
    room: Ruling
    un_numbers: dict[str, str | None]
    road: str
    transport: tuple[Ruling, ...]
    reasons: tuple[Reason, ...]
    remarks: tuple[str, ...]

    def fact(self, name: str) -> Fact:
        """The fact of this id; `StopIteration` if there is none."""
        return next(fact for fact in self.facts if fact.id == name)


def sheet_of(record: Record, part: str, heatings: tuple[Heating, ...], day: date) -> Sheet:
    """Join everything about the battery `part` of a record; `KeyError` if the record has no such part."""
    whole = record.parts[part]
    battery = whole.battery or Battery()
    energy = energy_of(battery)
    readings = markings(battery.designation) if battery.designation else ()
    makeup = makeup_of(battery, readings)
    size = [Fraction(side.si) for side in battery.size] if battery.size else None
    ranked = rank(readings, energy.value, size, makeup.cells)
    mass = battery.mass or whole.mass
    chance, room = swelling(battery)
    rulings = transport(battery, makeup, energy.span, day)
    value = None if energy.value is None else float(energy.value)
    facts = (
        *_label_facts(battery, energy, makeup),
        *_made_facts(battery, makeup, mass, bool(battery.mass)),
        *fill_facts(battery, value, mass),
        growth(battery),
        gap(battery),
        chance,
    )
    remarks = (*makeup.remarks, *_open_readings(battery, ranked), *_odd_size(battery), *stale(day))
    return Sheet(
        part, whole.name, day, facts, energy, makeup, battery.designation, ranked, room, un_numbers(makeup),
        road_class(rulings), rulings, reasons(record, part, battery, heatings), remarks,
    )  # fmt: skip


def _label_facts(battery: Battery, energy: Energy, makeup: Makeup) -> Iterator[Fact]:
    yield _label("nominal-voltage", "Nominal voltage", battery.nominal_voltage, "V", 2, "label")
    yield _label("charge-voltage", "Charge limit", battery.charge_voltage, "V", 2, "label")
    yield from _per_cell(battery, makeup)
    yield _label("capacity", "Rated capacity", battery.rated_capacity, "mAh", 0, "label")
    yield _label("marked-energy", "Energy marked", battery.marked_energy, "Wh", 2, "label")
    yield _computed("energy", "Energy from nominal voltage", energy)
    if energy.from_charge is not None:
        text = f"{float(energy.from_charge.low):.2f} to {float(energy.from_charge.high):.2f} Wh"
        says = "not the rated energy: the charge limit is no nominal voltage"
        yield Fact("energy-at-charge", "Energy if the charge limit were used", text, origin="computed", says=says)


def _label(name: str, title: str, value: Quantity | None, unit: str, places: int, origin: Origin) -> Fact:
    if value is None:
        look = "read it on the label" if origin == "label" else f"measure it with its uncertainty (key {name})"
        return Fact(name, title, unit=unit, look=look)
    u = None if value.u_si is None else float(value.u_si)
    return Fact(name, title, float(value.si), unit, u, places, origin)


def _per_cell(battery: Battery, makeup: Makeup) -> Iterator[Fact]:
    title = "Nominal and charge voltage of a cell"
    if battery.nominal_voltage is None or battery.charge_voltage is None:
        return
    if makeup.series is None:
        yield Fact("cell-voltage", title, look=COUNT)
        return
    nominal, charge = (float(v.si) / makeup.series for v in (battery.nominal_voltage, battery.charge_voltage))
    says = f"the charge limit lies {100 * (charge / nominal - 1):.1f} % above" if nominal else ""
    yield Fact("cell-voltage", title, f"{nominal:.2f} V and {charge:.2f} V", origin="computed", says=says)


def _computed(name: str, title: str, energy: Energy) -> Fact:
    if energy.computed is None:
        return Fact(name, title, unit="Wh", look=energy.look)
    low, high = energy.computed.low, energy.computed.high
    return Fact(name, title, f"{wh(low)} to {wh(high)} Wh", origin="computed", says=energy.says, look=energy.look)


def _made_facts(battery: Battery, makeup: Makeup, mass: Quantity | None, alone: bool) -> Iterator[Fact]:
    cells = None if makeup.cells is None else f"{makeup.series} in series, {makeup.parallel} side by side"
    yield Fact("cells", "Cells", cells, look=None if cells else COUNT)
    yield Fact("chemistry", "Chemistry", makeup.chemistry, look=None if makeup.chemistry else LETTERS)
    look = "look whether the enclosure is soft or metal (key enclosure)"
    yield Fact("enclosure", "Enclosure", battery.enclosure, look=None if battery.enclosure else look)
    look = "look for swelling, cracks, leaks, smell, heat (key condition)"
    yield Fact("condition", "Condition", battery.condition, look=None if battery.condition else look)
    yield _label("thickness", "Thickness measured", battery.thickness, "mm", 2, "measured")
    if mass is None:
        yield Fact("mass", "Mass", unit="g", look="weigh the battery alone (key mass)")
        return
    says = "" if alone else "mass of the part, with whatever is lifted with it"
    u = None if mass.u_si is None else float(mass.u_si)
    yield Fact("mass", "Mass", float(mass.si), "g", u, 1, "measured", says)


def _odd_size(battery: Battery) -> Iterator[str]:
    for what, sides in (("size", battery.size), ("bay", battery.bay)):
        if sides is not None and sides[0].si > min(side.si for side in sides):
            yield f"the first of {what} is taken as thickness or depth, but it is not the smallest"


def _open_readings(battery: Battery, ranked: Sequence[Ranked]) -> Iterator[str]:
    if battery.designation is None:
        yield "no designation is recorded; read it on the label (key designation)"
    elif not ranked:
        yield f"{battery.designation}: no scheme that is known here reads like this; measure the battery instead"
    elif len(ranked) > 1 and ranked[0].against == ranked[1].against:
        yield f"{battery.designation}: more than one reading is as likely; measure the battery (key size)"
    elif ranked[0].against:
        yield f"{battery.designation}: even the likeliest reading does not agree; measure and read the label again"
