"""Measuring on a photo for the doors: what is asked, done, and given back as plain data."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from unfasten.photo.lensfile import LensProfile
from unfasten.photo.open import Photo, open_photo
from unfasten.service.measureask import Ask, read_ask
from unfasten.service.measureparts import PartsTable, measure_parts
from unfasten.service.measurepicks import Measured, measure_picks


def measure_photo(
    source: bytes | Photo, name: str, tree: Mapping[str, Any] | Ask, profiles: Sequence[LensProfile] = ()
) -> Measured | PartsTable:
    """Measure on a photo, given as its bytes or opened; `tree` is what is asked (`measureask.Ask`), as plain data.

    `as_json` of the answer is plain data too. Raises `PhotoError` for a photo and `CallError` for an ask that cannot be
    used, `DataError` where what is asked cannot be told from the photo.
    """
    ask = tree if isinstance(tree, Ask) else read_ask(tree)
    photo = source if isinstance(source, Photo) else open_photo(source, name)
    return measure_parts(photo, ask, profiles) if ask.kind == "parts" else measure_picks(photo, ask, profiles)
