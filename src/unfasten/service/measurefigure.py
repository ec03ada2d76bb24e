"""A reading as a record keeps it: value, interval, photo, and what makes it again."""

from __future__ import annotations

from typing import Any

from unfasten.photo.lensfile import LensProfile
from unfasten.photo.open import Photo
from unfasten.photo.reading import Reading, places_of
from unfasten.record.measurement import Measurement


def figure(photo: Photo, profile: LensProfile | None, reading: Reading, **more: Any) -> Measurement:
    """The measurement of a record for a reading on a photo; `more` are its other keys (kind, name, recipe …)."""
    low, high = reading.interval
    places = places_of(reading.u)
    return Measurement.model_validate(
        {
            "file": photo.sha256,
            "photo": photo.facts.name or None,
            "value": reading.text,
            "interval": [f"{max(low, 0.0):.{places}f} {reading.unit}", f"{high:.{places}f} {reading.unit}"],
            "lens": None if profile is None else profile.name,
            **more,
        }
    )
