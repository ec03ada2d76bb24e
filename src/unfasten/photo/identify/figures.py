"""The dated figures that things are named by, read strictly from `parameters/`."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import date
from fractions import Fraction
from functools import cache
from importlib import resources
from pathlib import Path

from unfasten.evidence.parameter import Content, Figure, Parameter, load_parameters


@cache
def parameters() -> Mapping[str, Parameter]:
    """Every parameter by its id; raises `InvalidFileError` if a file has errors."""
    folder = Path(str(resources.files("unfasten.photo.identify") / "parameters"))
    return load_parameters(sorted(folder.glob("*.yaml")))


def figure(name: str, day: date) -> Figure:
    """The table that holds on a day; raises `TooEarlyError` before its first value, `KeyError` for an unknown id."""
    return parameters()[name].on(day)


def rows(name: str, day: date) -> Iterator[tuple[Figure, Mapping[str, Content]]]:
    """The rows of a table in the order of its source, each with the figure it belongs to."""
    table = figure(name, day)
    for row in table.rows:
        yield table, row


def number(row: Mapping[str, Content], key: str) -> float:
    """A number of a row; `TypeError` if it is none."""
    value = row[key]
    if not isinstance(value, Fraction):
        raise TypeError(f"{key} is {value!r}, no number")
    return float(value)


def word(row: Mapping[str, Content], key: str) -> str:
    """A word of a row; empty where the row has none."""
    value = row.get(key, "")
    return value if isinstance(value, str) else ""
