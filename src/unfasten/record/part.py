"""Parts, how they lift, and what is known of them."""

from __future__ import annotations

from typing import Literal

from pydantic import Field, StrictBool, StrictInt

from unfasten.record.types import (
    Charge,
    Coordinate,
    Cover,
    Energy,
    Id,
    Length,
    Mass,
    Noun,
    Share,
    Temperature,
    Text,
    Time,
    Voltage,
)

Role = Literal[
    "battery",
    "display-assembly",
    "back-cover",
    "front-camera",
    "rear-camera",
    "charging-port",
    "button",
    "microphone",
    "speaker",
    "hinge",
    "other",
]
#: parts that the ecodesign rules list and the index does not
Kind = Literal["audio-connector", "card-tray", "protective-foil"]
Survey = Literal["full", "partial"]
Hazard = Literal["mains", "charged-capacitor", "laser", "hot-surface", "solvent", "glass", "spring", "sharp-edge"]


class Lift(Noun):
    """Taking a part or bundle out, or swinging a part aside. `survey` None means the record's default."""

    tools: tuple[Id, ...] = ()
    side: Id = "any"
    time: Time | None = None
    behind: tuple[Cover, ...] = ()
    survey: Survey | None = None
    clear_of: tuple[Id, ...] = ()


class Tabs(Noun):
    """Stretch tabs of the adhesive under a battery: how many are fitted, and how many tore when they were pulled."""

    fitted: StrictInt = Field(ge=0, le=100)
    torn: StrictInt | None = Field(default=None, ge=0, le=100)


class Battery(Noun):
    """A battery's label and make, and what was measured of it: `size` and `bay` are thickness first.

    `size` is as the label or data sheet gives it; `thickness` is measured, as is `bay`, the room for it in the product.
    """

    nominal_voltage: Voltage | None = None
    charge_voltage: Voltage | None = None
    rated_capacity: Charge | None = None
    marked_energy: Energy | None = None
    cells_in_series: StrictInt | None = Field(default=None, ge=1, le=200)
    cells_in_parallel: StrictInt | None = Field(default=None, ge=1, le=200)
    chemistry: Literal["lithium-ion", "lithium-metal"] | None = None
    size: tuple[Length, Length, Length] | None = None
    thickness: Length | None = None
    bay: tuple[Length, Length, Length] | None = None
    mass: Mass | None = None
    designation: Text | None = None
    enclosure: Literal["soft", "metal"] | None = None
    condition: Literal["sound", "swollen", "damaged"] | None = None
    tabs: Tabs | None = None
    heated_to: Temperature | None = None
    state_of_charge: Share | None = None
    tested_un_38_3: StrictBool | None = None


class Hole(Noun):
    """A fixing hole: centre in the part's own plane, diameter, and the thread if it is tapped."""

    at: tuple[Coordinate, Coordinate]
    diameter: Length | None = None
    thread: Text | None = None


class Component(Noun):
    """A component on a board, as read from its marking."""

    marking: Text | None = None
    function: Text
    package: Text | None = None
    size: tuple[Length, Length] | None = None
    date_code: Text | None = None


class Cable(Noun):
    """A part's own cable: how long it is, how far it has to reach, and where its connector sits in the part's plane."""

    length: Length | None = None
    needed: Length | None = None
    connector: Text | None = None
    at: tuple[Coordinate, Coordinate] | None = None


class Replacing(Noun):
    """Where and by whom a part can be replaced, as the bench judges it; None: not judged."""

    environment: Literal["use", "workshop", "production-equivalent"] | None = None
    skill: Literal["layman", "generalist", "expert"] | None = None


class Part(Noun):
    """A part of the product. `kind` names what the ecodesign rules list beside the roles."""

    name: Text
    stays: StrictBool = False
    role: Role | None = None
    kind: Kind | None = None
    lift: Lift | None = None
    pairing: tuple[Literal["notification", "authorisation"], ...] = ()
    hazards: tuple[Hazard, ...] = ()
    battery: Battery | None = None
    mass: Mass | None = None
    size: tuple[Length, Length, Length] | None = None
    holes: tuple[Hole, ...] = ()
    cable: Cable | None = None
    components: tuple[Component, ...] = ()
    replacing: Replacing = Replacing()
    marking: Text | None = None
    note: Text | None = None
