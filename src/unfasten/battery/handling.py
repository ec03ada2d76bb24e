"""What a record gives reason to be careful about: each reason names its caution and the observation behind it.

The cautions' words stand in data files (`cautions.yaml` of the report, `handling.yaml` here); here is only why.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from unfasten.battery.bay import gap, growth
from unfasten.battery.figures import practice
from unfasten.record.log import Lifted, Released
from unfasten.record.part import Battery
from unfasten.record.record import Record


@dataclass(frozen=True, slots=True)
class Reason:
    """Why a caution is shown: its id, what the record shows, and what would settle it where it is not known."""

    care: str
    because: str
    look: str | None = None


@dataclass(frozen=True, slots=True)
class Heating:
    """A heating that meets the battery: the joint and way it prepares; `used` tells whether the log did it."""

    joint: str
    way: int
    used: bool

    def __str__(self) -> str:
        return f"{self.joint}, way {self.way}{' (used on film)' if self.used else ''}"


def reasons(record: Record, part: str, battery: Battery, heatings: tuple[Heating, ...]) -> tuple[Reason, ...]:
    """Every reason for a caution about the battery `part`, the gravest first."""
    found = [*_condition(battery), *_growth(battery), *_temperature(battery), *_tabs(record, part, battery)]
    found += [*_heat(heatings), *_joints(record, part), *_enclosure(battery), *_room(battery)]
    return tuple(found)


def heatings_in_log(record: Record, part: str) -> tuple[Heating, ...]:
    """Heatings that the log did while the battery was still in the product, or that its own joints provide for."""
    found: dict[tuple[str, int], bool] = {}
    for entry in record.log:
        if isinstance(entry, Lifted) and _lifts(record, entry, part):
            break
        if isinstance(entry, Released) and _heated(record, entry.joint, entry.way or 0):
            found[entry.joint, entry.way or 0] = True
    for name, joint in record.joints.items():
        for number in range(len(joint.ways)):
            if part in joint.holds and _heated(record, name, number):
                found.setdefault((name, number), False)
    return tuple(Heating(joint, way, used) for (joint, way), used in found.items())


def _lifts(record: Record, entry: Lifted, part: str) -> bool:
    return entry.part == part or (entry.bundle is not None and part in record.bundles[entry.bundle].parts)


def _heated(record: Record, joint: str, way: int) -> bool:
    return any(preparation.do == "heat" for preparation in record.joints[joint].ways[way].prepare)


def _condition(battery: Battery) -> Iterator[Reason]:
    if battery.condition in ("swollen", "damaged"):
        yield Reason(f"{battery.condition}-battery", f"the battery is recorded as {battery.condition}")
    elif battery.condition is None:
        look = "look at the battery: swelling, cracks, leaks, smell, heat (key condition)"
        yield Reason("lithium-cell", "the condition of the battery is not recorded", look)


def _growth(battery: Battery) -> Iterator[Reason]:
    limit, grown = practice("swelling.allowance"), growth(battery)
    if not isinstance(grown.value, float):
        return
    if grown.value + 2 * (grown.u or 0) > float(limit.number) and battery.condition != "swollen":
        sure = grown.value - 2 * (grown.u or 0) > float(limit.number)
        word = "has grown" if sure else "may have grown"
        because = f"it {word} by more than {float(limit.number):g} % in thickness: {grown.text}"
        yield Reason("grown-cell", because, "measure again, cold, at several places; lay a straight edge over it")


def _temperature(battery: Battery) -> Iterator[Reason]:
    warm, hot = practice("heat.storage"), practice("heat.most")
    reached = battery.heated_to
    if reached is None:
        return
    high = reached.si + 2 * (reached.u_si or 0)
    if high >= hot.number:
        yield Reason(
            "overheated-cell", f"the battery side reached {reached}; data sheets end at {float(hot.number):g} °C"
        )
    elif high > warm.number:
        yield Reason("warmed-cell", f"the battery side reached {reached}, above storage to {float(warm.number):g} °C")


def _tabs(record: Record, part: str, battery: Battery) -> Iterator[Reason]:
    if battery.tabs is None:
        if any(joint.kind == "adhesive" and part in joint.holds for joint in record.joints.values()):
            look = "note how many stretch tabs there are and how many tore (key tabs)"
            yield Reason("pry-near-cell", "the battery is glued; whether it has stretch tabs is not recorded", look)
        return
    if battery.tabs.torn:
        yield Reason("torn-tabs", f"{battery.tabs.torn} of {battery.tabs.fitted} stretch tabs tore")
    elif battery.tabs.fitted and battery.tabs.torn is None:
        yield Reason(
            "torn-tabs", f"{battery.tabs.fitted} stretch tabs are fitted", "note how many tore (key tabs.torn)"
        )


def _heat(heatings: tuple[Heating, ...]) -> Iterator[Reason]:
    if heatings:
        yield Reason("heat-near-cell", f"heat near the cell: {'; '.join(str(heating) for heating in heatings)}")


def _joints(record: Record, part: str) -> Iterator[Reason]:
    """Prying and solvent at joints that hold the battery itself."""
    own = {name: joint for name, joint in record.joints.items() if part in joint.holds}
    pried = [n for n, j in own.items() if j.kind in ("adhesive", "tape", "clip") and any(w.tools for w in j.ways)]
    if pried:
        yield Reason("pry-near-cell", f"tools at what holds the battery: {', '.join(pried)}")
    wet = [n for n, j in own.items() if any(p.do == "clean" for w in j.ways for p in w.prepare)]
    if wet:
        yield Reason("solvent-near-cell", f"solvent at what holds the battery: {', '.join(wet)}")


def _enclosure(battery: Battery) -> Iterator[Reason]:
    if battery.enclosure == "soft":
        yield Reason("soft-cell", "the enclosure is soft")
    elif battery.enclosure is None:
        look = "look whether the enclosure is soft or metal (key enclosure)"
        yield Reason("soft-cell", "the enclosure is not recorded, so it may be soft", look)


def _room(battery: Battery) -> Iterator[Reason]:
    room = gap(battery)
    if isinstance(room.value, float) and room.value - 2 * (room.u or 0) < 0:
        yield Reason("tight-bay", f"the room left in the bay is {room.text}")
