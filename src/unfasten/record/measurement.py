"""Measurements made on photos: the figure, the file it was made on, and the recipe that makes it again."""

from __future__ import annotations

from typing import Annotated, Any, Final, Literal

from pydantic import Field, PlainSerializer, PlainValidator, WithJsonSchema

from unfasten.evidence.quantity import Quantity, QuantityError, parse, pattern
from unfasten.record.photo import Sha256
from unfasten.record.types import Id, Noun, Text

#: what a measurement on a photo can be a measure of
DIMENSIONS: Final = ("length", "area", "angle")
Kind = Literal["distance", "diameter", "angle", "area", "holes", "parts"]


def _measure(value: object) -> Quantity:
    """Read a length, an area or an angle."""
    if isinstance(value, Quantity):
        return value
    errors = []
    for dimension in DIMENSIONS:
        try:
            return parse(value, dimension)
        except QuantityError as error:
            errors.append(error)
    raise ValueError(f"{value!r} is no length, area or angle; write it as '61.53 ± 0.08 mm'") from errors[0]


_PATTERN: Final = "|".join(pattern(dimension) for dimension in DIMENSIONS)
Measure = Annotated[
    Quantity,
    PlainValidator(_measure),
    PlainSerializer(str, return_type=str),
    WithJsonSchema({"type": "string", "pattern": _PATTERN}),
]


class Measurement(Noun):
    """A figure measured on a photo.

    `name` says what was measured, `value` is the figure with its standard uncertainty, `interval` its coverage interval
    at 95 %. `file` is the SHA-256 of the photo; `recipe` is what was asked (kind, picks, scale, height), from which
    `unfasten measure --rerun` makes it again; `letter` is the call-out of a part found on the mat.
    """

    file: Sha256
    photo: Text | None = None
    kind: Kind
    name: Text
    of: Id | None = None
    letter: Text | None = None
    value: Measure
    interval: tuple[Measure, Measure] | None = None
    lens: Text | None = None
    recipe: dict[str, Any] = Field(default_factory=dict)
    note: Text | None = None
