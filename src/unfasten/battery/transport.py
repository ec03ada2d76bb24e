"""Transport class of a battery on a day: UN number, special provision 188 by road, charge limits by air.

Every limit is a dated figure of `parameters/`. What could not be read in a copy or official summary is not coded;
`NOT_CODED` says what that is and where it stands. The result prepares a decision that local rules and qualified persons
make.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from fractions import Fraction
from types import MappingProxyType
from typing import Final

from unfasten.battery.fact import Ruling
from unfasten.battery.figures import figure_or_none, parameters
from unfasten.battery.makeup import COUNT, LETTERS, Makeup
from unfasten.evidence.interval import Interval, short_text
from unfasten.evidence.parameter import Figure
from unfasten.record.part import Battery

#: chemistry -> how it is sent -> UN number
UN_NUMBERS: Final = MappingProxyType(
    {
        "lithium-ion": {"alone": "UN 3480", "packed with equipment": "UN 3481", "in equipment": "UN 3481"},
        "lithium-metal": {"alone": "UN 3090", "packed with equipment": "UN 3091", "in equipment": "UN 3091"},
    }
)
#: what the rules ask for besides, and why it is not computed here
NOT_CODED: Final = (
    "exemption from the battery mark for few cells or batteries in equipment: not coded, see ADR special provision 188",
    "size of the battery mark: not coded, see ADR, lithium battery mark",
    "wording of the mark on packages of damaged batteries: not coded, see ADR special provision 376",
    "numbers and net masses per package by air: not coded, see packing instructions 965 to 967",
)
_LABEL: Final = "read voltage, capacity and energy on the label"
_LOOK: Final = "look at the battery: swelling, cracks, leaks, smell, heat, discolouration (key condition)"
_MEASURE_CHARGE: Final = "measure or read out the state of charge (key state_of_charge)"
_CONTRADICTS: Final = "the label contradicts itself"
_NO_FIGURE: Final = "the figures held here begin later than this day"


def un_numbers(makeup: Makeup) -> dict[str, str | None]:
    """UN number by how the battery is sent; None where the chemistry is not known."""
    ways = UN_NUMBERS["lithium-ion"]
    return {way: UN_NUMBERS[makeup.chemistry][way] if makeup.chemistry else None for way in ways}


def transport(battery: Battery, makeup: Makeup, energy: Interval | None, day: date) -> tuple[Ruling, ...]:
    """Rulings on the class by road and the charge limits by air; `energy` of the battery in Wh, low and high where its
    label contradicts itself."""
    out = [_damaged(battery), _road_energy(makeup, energy, day), _road_mark(battery), _road_test(battery)]
    out.append(_road_package(day))
    return (*out, *_air(battery, makeup, energy, day))


def road_class(rulings: tuple[Ruling, ...]) -> str:
    """What the rulings come to by road, in a sentence."""
    by_id = {ruling.id: ruling for ruling in rulings}
    if by_id["damaged"].verdict == "not met":
        return "damaged or swollen: special provision 376, never 188; a qualified person decides on the packing"
    wanted = [by_id[name] for name in ("damaged", "road-energy", "road-mark", "road-test")]
    if by_id["road-energy"].verdict == "not met":
        return "above the limits of special provision 188: fully regulated"
    if all(ruling.verdict in ("met", "does not apply") for ruling in wanted):
        return "within special provision 188"
    if any(ruling.verdict == "not met" for ruling in wanted):
        return "a condition of special provision 188 is not met: fully regulated"
    return "open: within special provision 188 only if every unknown below turns out well"


def _damaged(battery: Battery) -> Ruling:
    title = "Sound, not damaged or defective"
    if battery.condition is None:
        return Ruling("damaged", title, "unknown", "the condition is not recorded", (_LOOK,))
    if battery.condition == "sound":
        return Ruling("damaged", title, "met", "recorded as sound")
    says = (
        f"recorded as {battery.condition}: by road under special provision 376, packing P908, or P911 if it may "
        "disassemble, flame or vent dangerously, by the criteria of the maker or an expert; by air forbidden"
    )
    return Ruling("damaged", title, "not met", says, ("have a qualified person assess it; do not send it before",))


def _road_energy(makeup: Makeup, energy: Interval | None, day: date) -> Ruling:
    title = "Road: energy within special provision 188"
    if makeup.chemistry is None:
        return Ruling("road-energy", title, "unknown", "the chemistry is not known", (LETTERS,))
    if makeup.chemistry == "lithium-metal":
        return _road_lithium(title, makeup, day)
    cell, battery = figure_or_none("road.cell_energy", day), figure_or_none("road.battery_energy", day)
    if cell is None or battery is None:
        return Ruling("road-energy", title, "unknown", _NO_FIGURE, ("ask which edition held on that day",))
    limits = (cell, battery)
    if energy is None:
        return Ruling("road-energy", title, "unknown", "the energy is not known", (_LABEL,), limits)
    if makeup.cells is None:
        return _open_cells(title, energy, cell, battery)
    limit = cell if makeup.cells == 1 else battery
    counts = "a battery of one cell counts as a cell" if makeup.cells == 1 else f"{makeup.cells} cells make a battery"
    says = f"{counts}: {_wh(energy)} against {short_text(limit.number)} Wh"
    if energy.low <= limit.number < energy.high:
        return Ruling("road-energy", title, "unknown", f"{says}; {_CONTRADICTS}", (_LABEL,), (limit,))
    return Ruling("road-energy", title, "met" if energy.high <= limit.number else "not met", says, (), (limit,))


def _open_cells(title: str, energy: Interval, cell: Figure, battery: Figure) -> Ruling:
    says = f"{_wh(energy)}; a battery of one cell counts as a cell, and the number of cells is not known"
    if energy.high <= cell.number:
        return Ruling("road-energy", title, "met", f"{says}, but it is within both limits", (), (cell, battery))
    if energy.low > battery.number:
        return Ruling("road-energy", title, "not met", f"{says}, but it is above both limits", (), (cell, battery))
    return Ruling("road-energy", title, "unknown", says, (COUNT,), (cell, battery))


def _wh(energy: Interval) -> str:
    low = _figure(energy.low)
    return f"{low} Wh" if energy.is_known else f"{low} to {_figure(energy.high)} Wh"


def _figure(value: Fraction) -> str:
    """Two decimals, or up to five where two would hide on which side of a limit it lies: `20.00016`."""
    short = f"{float(value):.2f}"
    return short if Fraction(short) == value else f"{float(value):.5f}".rstrip("0")


def _road_lithium(title: str, makeup: Makeup, day: date) -> Ruling:
    name = "road.cell_lithium" if makeup.cells == 1 else "road.battery_lithium"
    limit = figure_or_none(name, day)
    figures = () if limit is None else (limit,)
    most = _NO_FIGURE if limit is None else f"at most {short_text(limit.number)} g"
    says = f"lithium metal: its lithium content decides, {most}; the record does not hold it"
    return Ruling("road-energy", title, "unknown", says, ("ask the maker for the lithium content",), figures)


def _road_mark(battery: Battery) -> Ruling:
    title = "Road: energy marked on the case"
    if battery.marked_energy is not None:
        return Ruling("road-mark", title, "met", f"marked {battery.marked_energy}")
    look = "look for the Wh rating on the case; cases made before 1 January 2009 need none"
    return Ruling("road-mark", title, "unknown", "no marked energy is recorded", (look,))


def _road_test(battery: Battery) -> Ruling:
    title = "Road: type tested to UN 38.3"
    if battery.tested_un_38_3 is None:
        return Ruling("road-test", title, "unknown", "not recorded", ("ask the maker for the UN 38.3 test summary",))
    says = "test summary at hand" if battery.tested_un_38_3 else "recorded as not tested"
    return Ruling("road-test", title, "met" if battery.tested_un_38_3 else "not met", says)


def _road_package(day: date) -> Ruling:
    title = "Road: package"
    mass, drop = figure_or_none("road.package_mass", day), figure_or_none("road.drop_height", day)
    if mass is None or drop is None:
        return Ruling("road-package", title, "unknown", _NO_FIGURE, ("ask which edition held on that day",))
    says = (
        "inner packaging that encloses it fully, protected against short circuit, strong outer packaging; stands a "
        f"drop of {short_text(drop.number)} m unless installed in equipment; up to {short_text(mass.number)} kg gross "
        "unless installed in or packed with equipment"
    )
    return Ruling("road-package", title, "unknown", says, ("check the package as it is sent",), (mass, drop))


def _air(battery: Battery, makeup: Makeup, energy: Interval | None, day: date) -> Iterator[Ruling]:
    titles = {
        "air-alone": "Air, alone (PI 965): state of charge",
        "air-packed": "Air, packed with equipment (PI 966): state of charge",
        "air-installed": "Air, in equipment (PI 967): state of charge",
    }
    if battery.condition in ("swollen", "damaged"):
        for name, title in titles.items():
            yield Ruling(name, title, "not met", f"forbidden by air: recorded as {battery.condition}")
        return
    if makeup.chemistry is None:
        yield from (
            Ruling(n, title, "unknown", "the chemistry is not known", (LETTERS,)) for n, title in titles.items()
        )
        return
    if makeup.chemistry != "lithium-ion":
        says = "the charge limits are those of lithium ion; lithium metal alone goes by cargo aircraft only (PI 968)"
        yield from (Ruling(name, title, "does not apply", says) for name, title in titles.items())
        return
    yield _charge("air-alone", titles["air-alone"], battery, figure_or_none("air.alone_charge", day))
    yield _packed(titles["air-packed"], battery, energy, day)
    yield _installed(titles["air-installed"], day)


def _installed(title: str, day: date) -> Ruling:
    says = "a reduced state of charge is recommended, not required; the limit of PI 966 does not extend to it"
    if figure_or_none("air.packed_charge", day) is None:
        says = "no limit of charge on this day"
    return Ruling("air-installed", title, "does not apply", says)


def _packed(title: str, battery: Battery, energy: Interval | None, day: date) -> Ruling:
    limit, above = figure_or_none("air.packed_charge", day), figure_or_none("air.packed_energy", day)
    if limit is None or above is None:
        first = parameters()["air.packed_charge"].history[0].since
        return Ruling("air-packed", title, "does not apply", f"no limit of charge on this day; it holds from {first}")
    if energy is None:
        return Ruling("air-packed", title, "unknown", "the energy is not known", (_LABEL,), (limit, above))
    if energy.high <= above.number:
        says = f"{_wh(energy)} is not above {short_text(above.number)} Wh"
        return Ruling("air-packed", title, "does not apply", says, (), (above,))
    if energy.low <= above.number:
        says = f"{_wh(energy)} may be above {short_text(above.number)} Wh; {_CONTRADICTS}"
        return Ruling("air-packed", title, "unknown", says, (_LABEL,), (limit, above))
    return _charge("air-packed", title, battery, limit, above)


def _charge(name: str, title: str, battery: Battery, limit: Figure | None, *others: Figure) -> Ruling:
    if limit is None:
        return Ruling(name, title, "unknown", _NO_FIGURE, ("ask which edition held on that day",))
    figures = (limit, *others)
    most = f"at most {short_text(limit.number)} % of rated capacity"
    if name == "air-alone":
        most = f"cargo aircraft only, forbidden on passenger aircraft; {most}"
    charge = battery.state_of_charge
    if charge is None:
        return Ruling(name, title, "unknown", f"{most}; the charge is not recorded", (_MEASURE_CHARGE,), figures)
    reach = 2 * charge.u_si if charge.u_si is not None else 0
    if charge.si - reach <= limit.number < charge.si + reach:
        return Ruling(name, title, "unknown", f"{most}; {charge} may be above", (_MEASURE_CHARGE,), figures)
    within = charge.si <= limit.number
    return Ruling(name, title, "met" if within else "not met", f"{most}; recorded {charge}", (), figures)
