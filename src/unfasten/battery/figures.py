"""The dated figures of this room, read strictly from `parameters/`."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from functools import cache
from importlib import resources
from pathlib import Path

from unfasten.evidence.parameter import Figure, Parameter, TooEarlyError, load_parameters


@cache
def parameters() -> Mapping[str, Parameter]:
    """Every parameter by its id; raises `InvalidFileError` if a file has errors."""
    folder = Path(str(resources.files("unfasten.battery") / "parameters"))
    return load_parameters(sorted(folder.glob("*.yaml")))


def figure(name: str, day: date) -> Figure:
    """The figure that holds on a day; raises `TooEarlyError` before its first value, `KeyError` for an unknown id."""
    return parameters()[name].on(day)


def figure_or_none(name: str, day: date) -> Figure | None:
    """The figure that holds on a day; None before its first value."""
    try:
        return figure(name, day)
    except TooEarlyError:
        return None


def figure_json(one: Figure) -> dict[str, object]:
    """A figure with its day and place, as JSON."""
    return {
        "id": one.id,
        "meaning": one.meaning,
        "value": float(one.number),
        "unit": one.unit,
        "since": one.since.isoformat(),
        "source": one.cite.doc,
        "at": one.cite.at,
        "confidence": one.confidence,
    }
