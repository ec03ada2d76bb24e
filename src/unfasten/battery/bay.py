"""How a battery fills its bay: densities, share of the volume, and the room that is left for it to swell.

First-order uncertainties of independent inputs (JCGM 100, 5.1.2); a result whose inputs were not all assessed has none.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from statistics import NormalDist
from typing import Final

from unfasten.battery.fact import Fact, Ruling, Verdict
from unfasten.battery.figures import practice
from unfasten.evidence.parameter import Figure
from unfasten.evidence.quantity import Quantity
from unfasten.record.part import Battery

#: conformance probability from which the room counts as enough, and below whose rest as too little: the default limit
#: of ISO 14253-1:2017 (B: read in one secondary source)
ENOUGH: Final = 0.95
_CHANCE: Final = "Probability of enough room"
_ROOM: Final = "Room for swelling"
_MM3_PER_L: Final = 1e6
_G_PER_KG: Final = 1e3
_MEASURE_BAY: Final = "measure the bay with its uncertainty: depth, width, height (key bay)"
_MEASURE_CELL: Final = "measure the thickness at several places with its uncertainty (key thickness)"


def fill_facts(battery: Battery, energy: float | None, mass: Quantity | None) -> tuple[Fact, ...]:
    """Energy per volume [Wh/L] and per mass [Wh/kg], and the battery's share of the bay [%]; `energy` in Wh."""
    return (_per_volume(battery, energy), _per_mass(energy, mass), _share(battery))


def _per_volume(battery: Battery, energy: float | None) -> Fact:
    title = "Energy per volume"
    if battery.size is None or energy is None:
        look = "measure the battery (key size)" if battery.size is None else "read voltage, capacity or energy"
        return Fact("wh-per-l", title, unit="Wh/L", look=look)
    litres = volume(battery.size) / _MM3_PER_L
    if not litres:
        return Fact("wh-per-l", title, unit="Wh/L", look="measure the battery again (key size)")
    relative = relative_u(battery.size)
    value = energy / litres
    u = None if relative is None else value * relative
    says = f"{energy:g} Wh in {litres * 1000:.1f} cm³, the block around the battery"
    return Fact("wh-per-l", title, value, "Wh/L", u, 0, "computed", says)


def _per_mass(energy: float | None, mass: Quantity | None) -> Fact:
    title = "Energy per mass"
    if mass is None or energy is None or not mass.si:
        look = "weigh the battery alone (key mass)" if mass is None else "read voltage, capacity or energy"
        return Fact("wh-per-kg", title, unit="Wh/kg", look=look)
    value = energy / (float(mass.si) / _G_PER_KG)
    relative = relative_u([mass])
    u = None if relative is None else value * relative
    return Fact("wh-per-kg", title, value, "Wh/kg", u, 1, "computed", f"{energy:g} Wh in {mass}")


def _share(battery: Battery) -> Fact:
    title = "Share of the bay's volume"
    if battery.bay is None or battery.size is None:
        look = _MEASURE_BAY if battery.bay is None else "measure the battery (key size)"
        return Fact("bay-share", title, unit="%", look=look)
    sides = (battery.thickness or battery.size[0], *battery.size[1:])
    if not volume(battery.bay):
        return Fact("bay-share", title, unit="%", look=_MEASURE_BAY)
    value = 100 * volume(sides) / volume(battery.bay)
    relative = relative_u([*sides, *battery.bay])
    u = None if relative is None else value * relative
    return Fact("bay-share", title, value, "%", u, 1, "computed", "battery as it is now, in its bay")


def thickness_now(battery: Battery) -> Quantity | None:
    """Measured thickness, else the first of the sizes."""
    return battery.thickness or (battery.size[0] if battery.size else None)


def growth(battery: Battery) -> Fact:
    """Measured thickness against the label's or data sheet's [%]."""
    title = "Thickness against the size given"
    if battery.thickness is None or battery.size is None:
        return Fact("growth", title, unit="%", look=_MEASURE_CELL)
    nominal, now = float(battery.size[0].si), float(battery.thickness.si)
    if not nominal:
        return Fact("growth", title, unit="%", look="read the size again (key size)")
    u = None if battery.thickness.u_si is None else 100 * float(battery.thickness.u_si) / nominal
    says = f"{battery.thickness} measured, {battery.size[0]} given"
    return Fact("growth", title, 100 * (now / nominal - 1), "%", u, 1, "computed", says)


def gap(battery: Battery) -> Fact:
    """Room left above the battery in its bay [mm]: depth less thickness."""
    title = "Room left in the bay"
    now = thickness_now(battery)
    if battery.bay is None or now is None:
        return Fact("gap", title, unit="mm", look=_MEASURE_BAY if battery.bay is None else _MEASURE_CELL)
    u = _sum_u(battery.bay[0], now)
    says = f"depth {battery.bay[0]} less thickness {now}"
    return Fact("gap", title, float(battery.bay[0].si - now.si), "mm", u, 2, "computed", says)


def swelling(battery: Battery) -> tuple[Fact, Ruling]:
    """Probability that the bay leaves room for the usual growth, and what follows from it."""
    usual, now = practice("swelling.allowance"), thickness_now(battery)
    if battery.bay is None or now is None:
        missing = [*([_MEASURE_BAY] if battery.bay is None else []), *([_MEASURE_CELL] if now is None else [])]
        return _no_room("bay or battery not measured", missing)
    share = float(usual.number) / 100
    spare = float(battery.bay[0].si) - (1 + share) * float(now.si)
    usually = f"usual practice, no standard: {float(usual.number):g} % of {now}, {share * float(now.si):.2f} mm"
    u = _sum_u(battery.bay[0], now, 1 + share)
    if u is None:
        says = f"{usually}; the room is {spare:+.2f} mm against that, uncertainty not assessed"
        missing = [f"assess the uncertainty of {what}" for what in _not_assessed(battery, now)]
        return _no_room(says, missing, usual)
    chance = NormalDist(0, u).cdf(spare) if u else float(spare >= 0)
    fact = Fact("room-probability", _CHANCE, chance, "", None, 3, "computed", f"{spare:+.2f} ± {u:.2f} mm to spare")
    verdict: Verdict = "met" if chance >= ENOUGH else "not met" if chance <= 1 - ENOUGH else "unknown"
    says = f"{usually}; probability {chance:.3f} that the bay leaves it, decided at {ENOUGH:g}"
    more = (_MEASURE_BAY, _MEASURE_CELL) if verdict == "unknown" else ()
    return fact, Ruling("swelling-room", _ROOM, verdict, says, more, (usual,))


def _no_room(says: str, missing: Sequence[str], *figures: Figure) -> tuple[Fact, Ruling]:
    fact = Fact("room-probability", _CHANCE, look="; ".join(missing) or None)
    return fact, Ruling("swelling-room", _ROOM, "unknown", says, tuple(missing), figures)


def volume(sides: Sequence[Quantity]) -> float:
    """Volume of a block [mm³]."""
    return math.prod(float(side.si) for side in sides)


def relative_u(factors: Sequence[Quantity]) -> float | None:
    """Relative standard uncertainty of a product or quotient; None if one factor was not assessed or is zero."""
    out = 0.0
    for factor in factors:
        if factor.u_si is None or not factor.si:
            return None
        out += float(factor.u_si / factor.si) ** 2
    return math.sqrt(out)


def _sum_u(one: Quantity, two: Quantity, factor: float = 1.0) -> float | None:
    """Standard uncertainty of one less `factor` times two; None if either was not assessed."""
    if one.u_si is None or two.u_si is None:
        return None
    return math.hypot(float(one.u_si), factor * float(two.u_si))


def _not_assessed(battery: Battery, now: Quantity) -> list[str]:
    depth = [] if battery.bay is None or battery.bay[0].u_si is not None else ["the bay's depth"]
    return [*depth, *([] if now.u_si is not None else ["the thickness"])]
