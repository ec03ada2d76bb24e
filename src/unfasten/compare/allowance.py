"""Allowances for exchange: read once from the parameter files, each with its source."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from fractions import Fraction
from functools import cache
from importlib import resources
from pathlib import Path

from unfasten.evidence.parameter import Figure, Parameter, load_parameters

_FILES = ("allowances.yaml", "general_tolerances.yaml")


@cache
def _parameters() -> dict[str, Parameter]:
    folder = Path(str(resources.files("unfasten.compare") / "parameters"))
    return load_parameters([folder / name for name in _FILES])


def allowance(name: str) -> float:
    """The latest value of an allowance, in its unit; `KeyError` for an unknown name."""
    return float(_parameters()[name].history[-1].number)


def gross(length: float) -> float:
    """By how much no reading of a length errs, whatever its uncertainty [mm].

    >>> gross(9.6), gross(100)
    (1.0, 5.0)
    """
    return max(allowance("fit.gross-length"), allowance("fit.gross-share") * length)


def general_tolerance(length: float) -> float:
    """Permissible deviation of a length [mm], plus or minus, by ISO 2768-1 class m; shorter and longer take the last.

    >>> general_tolerance(9.6), general_tolerance(5.9)
    (0.2, 0.1)
    """
    figure: Figure = _parameters()["tolerance.linear-m"].on(date.max)
    rows = [_row(row) for row in figure.rows]
    for up_to, deviation in rows:
        if length <= up_to:
            return deviation
    return rows[-1][1]


def _row(row: Mapping[str, object]) -> tuple[float, float]:
    up_to, deviation = row["up_to"], row["deviation"]
    if not isinstance(up_to, Fraction) or not isinstance(deviation, Fraction):
        raise TypeError("a row of general tolerances is no row of numbers")
    return float(up_to), float(deviation)
