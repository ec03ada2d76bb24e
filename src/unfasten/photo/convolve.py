"""Distributions of errors joined by convolution, without drawing random numbers (JCGM 101, 5.2; JCGM 100, G.1.4)."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

import numpy as np
from numpy.typing import NDArray

#: cells from the middle of the joined distribution to its end
_CELLS: Final = 64
_EVEN: Final = 32
_ROUNDS: Final = 40
_SETTLED: Final = 1e-5
Values = NDArray[np.float64]


def evenly(u: float) -> tuple[float, ...]:
    """Equally likely errors of a rectangular distribution of this standard uncertainty (half-width sqrt(3) u)."""
    # spread so that the set itself has the standard deviation u
    at = (2 * np.arange(_EVEN) + 1) / _EVEN - 1
    return tuple(float(x) for x in u * at / math.sqrt(float((at**2).mean())))


def half_width(sets: Sequence[Sequence[float]], u: float, dof: float, p: float) -> float:
    """Half-width of the symmetric interval that holds an error with probability `p`.

    The error is the sum of one of each of `sets` (equally likely) and of a normal error of standard uncertainty `u`
    (Student's, for finite degrees of freedom). Accurate to about 1 %, and to 0.2 % beside a
    normal part of like size.
    """
    from scipy import special  # type: ignore[import-untyped]

    at, share = _joined(sets)
    cell = float(at[1] - at[0])
    u = math.hypot(u, cell / 2)

    def below(x: Values) -> Values:
        return np.asarray(special.ndtr(x / u) if math.isinf(dof) else special.stdtr(dof, x / u), float)

    def holds(half: float) -> float:
        return float(share @ (below(half - at) - below(-half - at)))

    tail = special.ndtri((1 + p) / 2) if math.isinf(dof) else special.stdtrit(dof, (1 + p) / 2)
    low, high = 0.0, float(at[-1]) + u * float(tail)
    for _ in range(_ROUNDS):
        half = (low + high) / 2
        low, high = (half, high) if holds(half) < p else (low, half)
        if high - low < _SETTLED * high:
            break
    return (low + high) / 2


def _joined(sets: Sequence[Sequence[float]]) -> tuple[Values, Values]:
    """Distribution of the sum of one error of each set: places on an even grid, and their probabilities."""
    reach = math.fsum(max(abs(error) for error in errors) for errors in sets)
    cell = reach / _CELLS
    share = np.zeros(2 * _CELLS + 1)
    share[_CELLS] = 1.0
    for errors in sets:
        own = np.zeros_like(share)
        place = np.asarray(errors, float) / cell + _CELLS
        left = np.clip(np.floor(place).astype(int), 0, 2 * _CELLS - 1)
        part = place - left
        np.add.at(own, left, (1 - part) / len(errors))
        np.add.at(own, left + 1, part / len(errors))
        share = np.convolve(share, own, "same")
    return np.asarray(cell * np.arange(-_CELLS, _CELLS + 1), float), share
