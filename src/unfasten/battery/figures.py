"""The dated figures of this room, read strictly from `parameters/`."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, timedelta
from functools import cache
from importlib import resources
from pathlib import Path
from typing import Final

from unfasten.evidence.parameter import Figure, Parameter, TooEarlyError, load_parameters

#: editions of the transport rules follow every two years (common practice)
EDITION: Final = timedelta(days=731)
TRANSPORT: Final = ("road.", "air.")


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


def practice(name: str) -> Figure:
    """The latest value of a figure that no law dates, such as a limit of data sheets: it holds on every day."""
    return parameters()[name].history[-1]


def stale(day: date) -> tuple[str, ...]:
    """Sources of the transport limits that were last checked more than an edition before the day, with a word on it."""
    found = {
        parameter.history[0].cite.doc: parameter.still_valid_on
        for name, parameter in parameters().items()
        if name.startswith(TRANSPORT) and day - parameter.still_valid_on > EDITION
    }
    return tuple(
        f"{doc} was last checked on {checked}; a newer edition may hold on {day}" for doc, checked in found.items()
    )


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
