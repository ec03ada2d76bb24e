"""The product, the set-up of the bench, what the maker offers, and the sheet the record is issued on."""

from __future__ import annotations

from decimal import Decimal
from typing import Annotated, Final, Literal

from pydantic import BeforeValidator, Field, PlainSerializer, StrictBool, StrictInt, WithJsonSchema

from unfasten.evidence.quantity import Quantity
from unfasten.record.part import Kind, Role, Survey
from unfasten.record.types import Day, Id, Length, Mass, Noun, Text, Time

Category = Literal["smartphone", "foldable-smartphone", "slate-tablet", "foldable-slate-tablet", "other"]
TOOL_CHANGE: Final = Quantity(Decimal("1.4"), "s")
TURN_OVER: Final = Quantity(Decimal("1.8"), "s")


class Product(Noun):
    """What was taken apart."""

    id: Id
    name: Text
    maker: Text
    category: Category
    family: Id | None = None
    predecessor: Id | None = None
    released: Day | None = None
    mass: Mass | None = None
    size: tuple[Length, Length, Length] | None = None
    note: Text | None = None


class Setup(Noun):
    """Set-up times of the bench and the default survey."""

    tool_change: Time = TOOL_CHANGE
    turn_over: Time = TURN_OVER
    survey: Survey = "full"


class Sheet(Noun):
    """Fields of the title block that are not derived (after ISO 7200): number, edition, state, names, day of issue."""

    number: Text | None = None
    edition: StrictInt = Field(default=1, ge=1)
    state: Literal["draft", "provisional", "final"] = "draft"
    owner: Text | None = None
    by: Text | None = None
    approved_by: Text | None = None
    on: Day | None = None


def _years(value: object) -> object:
    if isinstance(value, bool) or not isinstance(value, int | float | Decimal):
        raise ValueError("write the years as a plain number, such as 5")
    return Decimal(str(value))


Years = Annotated[
    Decimal,
    BeforeValidator(_years),
    Field(ge=0, le=100),
    PlainSerializer(lambda d: int(d) if d == int(d) else float(d)),
    WithJsonSchema({"type": "number", "minimum": 0, "maximum": 100}),
]


Roles = tuple[Literal[Role, Kind, "charger"], ...] | Literal["all"]
Days = Annotated[StrictInt, Field(ge=0, le=10_000)]


class SpareParts(Noun):
    """To whom which spare parts are offered, by role or kind; None: not known.

    `years` from the end of placement on the market; `bundled` are parts sold only together.
    """

    public: Roles | None = None
    professional: Roles | None = None
    years: Years | None = None
    bundled: tuple[tuple[Literal[Role, Kind], ...], ...] | None = None


class Updates(Noun):
    """Guaranteed software updates, counted from the end of placement on the market [years]."""

    years: Years


class RepairInformation(Noun):
    """At what price repair information is given; None: not known."""

    public: Literal["free", "fee", "none"] | None = None
    professional: Literal["free", "fee", "none"] | None = None
    board_diagrams: Literal["public", "professional", "none"] | None = None


class Delivery(Noun):
    """From this year of the offer on, spare parts come within so many working days."""

    year: StrictInt = Field(ge=1, le=100)
    days: Days


class Response(Noun):
    """Working days in which a repairer is answered; None: not known."""

    registration: Days | None = None
    information: Days | None = None
    pairing: Days | None = None


class PairingSoftware(Noun):
    """Who gets the software that pairs a spare part, for how many years, and what is asked for; None: not known."""

    public: Roles | None = None
    professional: Roles | None = None
    years: Years | None = None
    asks: tuple[Literal["notification", "authorisation", "other"], ...] | None = None


class Supply(Noun):
    """What the maker offers; a key left out is not known."""

    spare_parts: SpareParts = SpareParts()
    updates: Updates | None = None
    repair_information: RepairInformation = RepairInformation()
    delivery: tuple[Delivery, ...] = ()
    prices: Literal["all", "some", "none"] | None = None
    response: Response = Response()
    pairing_software: PairingSoftware = PairingSoftware()
    common_charger: StrictBool | None = None
    battery_instructions: Literal["online", "none"] | None = None
