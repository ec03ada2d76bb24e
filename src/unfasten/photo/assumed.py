"""Figures that the measuring takes as given, from the dated files in `parameters`."""

from __future__ import annotations

from functools import cache
from importlib import resources
from pathlib import Path

from unfasten.evidence.parameter import Parameter, load_parameters


@cache
def _parameters() -> dict[str, Parameter]:
    folder = Path(str(resources.files("unfasten.photo"))) / "parameters"
    return load_parameters([folder / "card.yaml", folder / "own.yaml"])


def assumed(name: str) -> float:
    """The latest value of a parameter, in the unit its file states; `KeyError` if no file defines it.

    >>> assumed("card.width")
    85.6
    """
    return float(_parameters()[name].history[-1].number)
