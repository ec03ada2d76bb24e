"""A photo of parts laid out on the mat becomes a table: outline, length, width, area, middle and holes of each."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

import numpy as np

from unfasten.photo.edges import Grey
from unfasten.photo.mat import Box
from unfasten.photo.outline import (
    CIRCLE,
    LEAST_FOUND,
    SIZES,
    Outline,
    outline_readings,
    roundness,
    sizes,
    trace,
    unbent,
)
from unfasten.photo.plane import Points
from unfasten.photo.reading import Reading
from unfasten.photo.rectify import native_scale, rectified_to_mm, rectify
from unfasten.photo.segment import Picture, Piece, pieces
from unfasten.photo.shapes import circle
from unfasten.photo.view import Rise, View

#: parts are looked for at no more px a mm than this; their outlines are then drawn in the photo itself
_FINEST: Final = 8.0
_MARGIN: Final = 1.0
_ROUND: Final = 0.06
LETTERS: Final = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"


@dataclass(frozen=True, slots=True)
class FoundHole:
    """A hole: its readings and whether it is round; one that is not has no diameter to speak of."""

    outline: Outline
    readings: tuple[Reading, ...]
    round: bool


@dataclass(frozen=True, slots=True)
class FoundPart:
    """A piece on the field: call-out letter, outline, readings, holes, and flags (`may-touch`, `leaves-field`, …)."""

    letter: str
    outline: Outline
    readings: tuple[Reading, ...]
    holes: tuple[FoundHole, ...]
    flags: tuple[str, ...]


def find_parts(picture: Picture, grey: Grey, view: View, field: Box) -> tuple[FoundPart, ...]:
    """Every part on the field of the mat in a photo (BGR and grey); `view` gives their height."""
    inner = Box(field.x + _MARGIN, field.y + _MARGIN, field.width - 2 * _MARGIN, field.height - 2 * _MARGIN)
    flat = View(view.plane, view.lens, Rise())
    scale = min(_FINEST, native_scale(flat, inner))
    found = pieces(rectify(picture, flat, inner, scale), scale)

    def to_photo(points: Points) -> Points:
        return flat.to_px(rectified_to_mm(points, inner, scale))

    return tuple(_part(letter_of(index), piece, grey, view, to_photo) for index, piece in enumerate(found))


def letter_of(index: int) -> str:
    """Call-out of the n-th part: A to Z, then AA, AB, …

    >>> letter_of(0), letter_of(27)
    ('A', 'AB')
    """
    out = ""
    index += 1
    while index:
        index, rest = divmod(index - 1, len(LETTERS))
        out = LETTERS[rest] + out
    return out


def _part(letter: str, piece: Piece, grey: Grey, view: View, to_photo: Callable[[Points], Points]) -> FoundPart:
    outline = trace(grey, to_photo(piece.outline))
    round_ = _is_round(view, outline)
    outline = unbent(outline) if round_ else outline
    flags = [name for name, set_ in (("leaves-field", piece.leaves_field), ("may-touch", piece.may_touch)) if set_]
    if outline.found < LEAST_FOUND:
        flags.append("unclear-edge")
    holes = tuple(_hole(unbent(trace(grey, to_photo(rim))), view) for rim in piece.holes)
    readings = outline_readings(view, outline, sizes, SIZES)
    if round_:
        readings += outline_readings(view, outline, circle, CIRCLE)[-1:]
    return FoundPart(letter, outline, readings, holes, tuple(flags))


def _hole(outline: Outline, view: View) -> FoundHole:
    # an outline's normals point out of what it runs round: for a hole that is into the material, as for its circle
    readings = outline_readings(view, outline, circle, CIRCLE)
    return FoundHole(outline, readings, _is_round(view, outline))


def _is_round(view: View, outline: Outline) -> bool:
    off, (_, _, diameter) = roundness(view, outline)
    return bool(off <= max(_ROUND * diameter, 0.05))


def contour_mm(part: FoundPart, view: View, most: int = 200) -> Points:
    """The outline of a part [mm], thinned to at most so many points."""
    mm = view.to_mm(part.outline.points)
    return np.asarray(mm[:: max(1, -(-len(mm) // most))], float)
