"""What is asked of a photo: kind, picks, scale, height. The same tree comes from the page, the command and a record."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Annotated, Any, Final, Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from unfasten.evidence.errors import CallError
from unfasten.evidence.quantity import QuantityError, parse

#: x and y in the upright photo [px]; (0, 0) is the middle of its first pixel
Pick = tuple[float, float]
Kind = Literal["distance", "diameter", "angle", "area", "holes", "parts"]
_CODE: Final = "photo.ask"
_HOW: Final = "with its standard uncertainty, such as '2.1 ± 0.1 mm'"


class AskNoun(BaseModel):
    """Base of what is asked: frozen, and an unknown key is an error."""

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)


class MatScale(AskNoun):
    """The bench mat; `check_lines` are readings of its check lines, such as `100.2 ± 0.1 mm` (one for both)."""

    kind: Literal["mat"] = "mat"
    check_lines: tuple[str, ...] = Field(default=(), max_length=2)


class CardScale(AskNoun):
    """An ID-1 card; `corners` where it is not to be found by itself: the corners its straight edges would meet at."""

    kind: Literal["card"]
    corners: tuple[Pick, Pick, Pick, Pick] | None = None


class LengthScale(AskNoun):
    """Two points a known length apart, such as marks of a ruler; `tilt` is the most that the camera leans [deg]."""

    kind: Literal["length"]
    ends: tuple[Pick, Pick]
    length: str
    tilt: float | None = Field(default=None, ge=0, le=45)


class RectangleScale(AskNoun):
    """Four corners of a known rectangle, from the top left the way a clock turns."""

    kind: Literal["rectangle"]
    corners: tuple[Pick, Pick, Pick, Pick]
    width: str
    height: str


Scale = Annotated[MatScale | CardScale | LengthScale | RectangleScale, Field(discriminator="kind")]


class Ask(AskNoun):
    """A measurement on one photo.

    `readings` holds one list of picks for every time the same thing was picked; for `holes` a reading is a list of
    holes, each a list of picks. `parts` needs no picks. `height` is over the bench (mat, card) or over the plane of the
    reference, `distance` how high the camera stood over it, `pointing` the standard uncertainty of a pick [px]. With
    `edge` the picks of a diameter, hole or area are rough, and the edge of light near them is measured.
    """

    kind: Kind
    readings: tuple[tuple[Any, ...], ...] = Field(default=(), max_length=100)
    scale: Scale = MatScale()
    height: str | None = None
    distance: str | None = None
    pointing: float | None = Field(default=None, gt=0, le=100)
    edge: bool = False

    def recipe(self) -> dict[str, Any]:
        """What was asked as plain data, without what is left at its default; `read_ask` reads it back."""
        tree = self.model_dump(mode="json", exclude_defaults=True)
        if "scale" in tree:
            tree["scale"] = {"kind": self.scale.kind, **tree["scale"]}
        return tree


def read_ask(tree: Mapping[str, Any]) -> Ask:
    """Read what is asked; raises `CallError` that lists everything wrong with it."""
    try:
        return Ask.model_validate(dict(tree))
    except ValidationError as error:
        wrong = "; ".join(f"{_place(item['loc'])}: {item['msg'].lower()}" for item in error.errors())
        raise CallError(_CODE, "measurement", wrong, "see 'unfasten measure --help' for what is wanted") from error


def _place(loc: tuple[int | str, ...]) -> str:
    return ".".join(str(part) for part in loc) or "measurement"


def length_of(text: str, where: str, *, positive: bool = True) -> tuple[float, float | None]:
    """A length (value, standard uncertainty or None) [mm]; raises `CallError` for a text that is none."""
    try:
        found = parse(text, "length")
    except QuantityError as error:
        raise CallError(_CODE, where, str(error), f"write it {_HOW}") from error
    if positive and found.si <= 0:
        raise CallError(_CODE, where, f"{text!r} is not greater than zero", "state the length")
    return float(found.si), None if found.u_si is None else float(found.u_si)


def with_u(text: str, where: str) -> tuple[float, float]:
    """A length with its standard uncertainty [mm]; raises `CallError` where none is stated."""
    value, u = length_of(text, where)
    if u is None:
        message = f"{text!r} has no uncertainty"
        raise CallError(_CODE, where, message, f"write how well it is known, such as '{value:g} ± {_hint(value):g} mm'")
    return value, u


def _hint(value: float) -> float:
    return float(10.0 ** (math.floor(math.log10(value)) - 2)) if value > 0 else 0.1
