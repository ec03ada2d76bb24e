"""Field types shared by the nouns of a record: ids, quantities, covers and the common model."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import date
from typing import Annotated, Any, Final

from pydantic import (
    BaseModel,
    BeforeValidator,
    ConfigDict,
    PlainSerializer,
    PlainValidator,
    StringConstraints,
    WithJsonSchema,
)

from unfasten.evidence.quantity import Quantity, parse, pattern

ID_PATTERN: Final = r"^[a-z0-9]+(-[a-z0-9]+)*$"
CLOCK_PATTERN: Final = r"^[0-9]{1,3}:[0-5][0-9]:[0-5][0-9](\.[0-9]{1,3})?$"


class Noun(BaseModel):
    """Base of every part of a record: frozen, and an unknown key is an error."""

    model_config = ConfigDict(frozen=True, extra="forbid", arbitrary_types_allowed=True, allow_inf_nan=False)


Id = Annotated[str, StringConstraints(pattern=ID_PATTERN, max_length=80)]
Text = Annotated[str, StringConstraints(min_length=1, max_length=4000)]
Clock = Annotated[str, StringConstraints(pattern=CLOCK_PATTERN)]


def _reader(dimension: str, *, each: bool = False, signed: bool = False) -> Callable[[object], Quantity]:
    def read(value: object) -> Quantity:
        return value if isinstance(value, Quantity) else parse(value, dimension, each=each, signed=signed)

    return read


def _quantity(dimension: str, *, each: bool = False, signed: bool = False) -> tuple[Any, ...]:
    return (
        PlainValidator(_reader(dimension, each=each, signed=signed)),
        PlainSerializer(str, return_type=str),
        WithJsonSchema({"type": "string", "pattern": pattern(dimension, each=each, signed=signed)}),
    )


Time = Annotated[Quantity, *_quantity("time")]
WorkTime = Annotated[Quantity, *_quantity("time", each=True)]
Mass = Annotated[Quantity, *_quantity("mass")]
Length = Annotated[Quantity, *_quantity("length")]
#: a place along an axis; the zero may lie anywhere, so it can be below it
Coordinate = Annotated[Quantity, *_quantity("length", signed=True)]
Voltage = Annotated[Quantity, *_quantity("voltage")]
Charge = Annotated[Quantity, *_quantity("charge")]
Energy = Annotated[Quantity, *_quantity("energy")]
Temperature = Annotated[Quantity, *_quantity("temperature")]
Share = Annotated[Quantity, *_quantity("share")]


def _day(value: object) -> object:
    if isinstance(value, date):
        return value
    if isinstance(value, str) and re.fullmatch(r"\d{4}-\d{2}-\d{2}", value):
        return date.fromisoformat(value)
    raise ValueError("write the day as YYYY-MM-DD")


Day = Annotated[
    date,
    PlainValidator(_day),
    PlainSerializer(lambda d: d.isoformat(), return_type=str),
    WithJsonSchema({"type": "string", "pattern": r"^[0-9]{4}-[0-9]{2}-[0-9]{2}$"}),
]


def _any_of(value: object) -> object:
    return [value] if isinstance(value, str) else value


def _any_of_out(value: tuple[str, ...]) -> object:
    return value[0] if len(value) == 1 else list(value)


#: one clause of `under` or `behind`: a part, or parts of which any one suffices
Cover = Annotated[
    tuple[Id, ...],
    BeforeValidator(_any_of),
    PlainSerializer(_any_of_out),
    WithJsonSchema(
        {
            "anyOf": [
                {"type": "string", "pattern": ID_PATTERN, "maxLength": 80},
                {"type": "array", "items": {"type": "string", "pattern": ID_PATTERN, "maxLength": 80}, "minItems": 1},
            ]
        }
    ),
]
