"""What the check values of batteries are computed with: the same functions, fed by hand."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from fractions import Fraction
from typing import Any

from unfasten.battery.bay import fill_facts, gap, growth, swelling
from unfasten.battery.energy import energy_of
from unfasten.battery.makeup import makeup_of
from unfasten.battery.marking import designate, markings
from unfasten.battery.ranking import rank
from unfasten.battery.transport import road_class, transport
from unfasten.evidence.checkvalue import Computed, Models
from unfasten.evidence.interval import exact
from unfasten.record.part import Battery

MODELS = Models()


@MODELS.model("batteries.designation")
def designation(given: Mapping[str, Any]) -> Mapping[str, Computed]:
    """Designation of a cell or battery from the sides of one cell [mm]."""
    sides = tuple(exact(side) for side in given["sides"])
    series, parallel = given.get("series", 1), given.get("parallel", 1)
    return {"designation": designate(given["chemistry"], given["positive"], given["shape"], sides, series, parallel)}


@MODELS.model("batteries.marking")
def marking(given: Mapping[str, Any]) -> Mapping[str, Computed]:
    """Likeliest reading of a marking with what is known besides; `readings` is how many there are."""
    energy = exact(given["energy"]) if "energy" in given else None
    size = [exact(side) for side in given["size"]] if "size" in given else None
    ranked = rank(markings(given["marking"]), energy, size, given.get("cells"))
    return {"size": ranked[0].marking.size_text, "scheme": ranked[0].marking.scheme, "readings": len(ranked)}


@MODELS.model("batteries.energy")
def energy(given: Mapping[str, Any]) -> Mapping[str, Computed]:
    """Energy by nominal voltage and by the charge limit [Wh], and whether the mark agrees."""
    battery = Battery.model_validate(dict(given["battery"]))
    found = energy_of(battery)
    out: dict[str, Computed] = {"verdict": found.verdict}
    for name, voltage in (("energy", battery.nominal_voltage), ("at_charge", battery.charge_voltage)):
        if voltage is not None and battery.rated_capacity is not None:
            out[name] = Fraction(voltage.si) * Fraction(battery.rated_capacity.si) / 1000
    return out


@MODELS.model("batteries.density")
def density(given: Mapping[str, Any]) -> Mapping[str, Computed]:
    """Energy [Wh], energy per volume [Wh/L] and per mass [Wh/kg] of a battery."""
    battery = Battery.model_validate(dict(given["battery"]))
    found = energy_of(battery).value
    if found is None:
        raise AssertionError("the check gives no energy")
    facts = {fact.id: fact.value for fact in fill_facts(battery, float(found), battery.mass)}
    known = {name: value for name, value in facts.items() if isinstance(value, float)}
    return {"energy": found, **known}


@MODELS.model("batteries.bay")
def room(given: Mapping[str, Any]) -> Mapping[str, Computed]:
    """Room left [mm], growth [%], probability of enough room, and the verdict."""
    battery = Battery.model_validate(dict(given["battery"]))
    chance, ruling = swelling(battery)
    facts = (gap(battery), growth(battery), chance)
    known: dict[str, Computed] = {fact.id: fact.value for fact in facts if fact.value is not None}
    return {**known, "verdict": ruling.verdict}


@MODELS.model("batteries.transport")
def sending(given: Mapping[str, Any]) -> Mapping[str, Computed]:
    """Verdict of every ruling on a day, and what they come to by road."""
    battery = Battery.model_validate(dict(given["battery"]))
    readings = markings(battery.designation) if battery.designation else ()
    makeup = makeup_of(battery, readings)
    rulings = transport(battery, makeup, energy_of(battery).span, date.fromisoformat(given["on"]))
    return {**{ruling.id: ruling.verdict for ruling in rulings}, "road": road_class(rulings)}
