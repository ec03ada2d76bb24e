"""Measurements made on photos: the figure, the file it was made on, and the recipe that makes it again."""

from __future__ import annotations

from typing import Annotated, Any, Final, Literal

from pydantic import Field, PlainSerializer, PlainValidator, WithJsonSchema

from unfasten.evidence.quantity import Quantity, QuantityError, parse, pattern
from unfasten.record.photo import Sha256
from unfasten.record.types import Id, Noun, Text

#: what a measurement on a photo can be a measure of
DIMENSIONS: Final = ("length", "area", "angle", "share")
Kind = Literal["distance", "diameter", "angle", "area", "holes", "parts", "board"]


def _measure(value: object) -> Quantity:
    """Read a length, an area, an angle or a share."""
    if isinstance(value, Quantity):
        return value
    errors = []
    for dimension in DIMENSIONS:
        try:
            return parse(value, dimension)
        except QuantityError as error:
            errors.append(error)
    raise ValueError(f"{value!r} is no length, area, angle or share; write it as '61.53 ± 0.08 mm'") from errors[0]


_PATTERN: Final = "|".join(pattern(dimension) for dimension in DIMENSIONS)
Measure = Annotated[
    Quantity,
    PlainValidator(_measure),
    PlainSerializer(str, return_type=str),
    WithJsonSchema({"type": "string", "pattern": _PATTERN}),
]


class TakenFor(Noun):
    """What a person took a measured thing for: `chosen`, of the candidates `among`, best first, and where it stands.

    `place` is the fact that it became (`joints.back-screws.thread`). A choice that is not among the candidates is the
    person's own.
    """

    what: Literal["thread", "drive", "package"]
    chosen: Text
    among: tuple[Text, ...] = ()
    place: Text


class Measurement(Noun):
    """A figure measured on a photo.

    `name` says what was measured, `value` is the figure with its standard uncertainty, `interval` its coverage interval
    at 95 %. `file` is the SHA-256 of the photo; `recipe` is what was asked (kind, picks, scale, height), from which
    `unfasten measure --rerun` makes it again; `letter` is the call-out of a part found on the mat; `taken_for` is the
    standard size that a person saw in it.
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
    taken_for: TakenFor | None = None
    note: Text | None = None
