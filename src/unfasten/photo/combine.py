"""Repeated readings: their scatter replaces the assumed care of pointing, the shared sources stay what they are."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from unfasten.photo.budget import CARE, Budget, Component
from unfasten.photo.reading import Reading

#: lines that differ from reading to reading of one photo
OWN: frozenset[str] = frozenset({"pointing", "repeat readings"})
#: lines that differ from photo to photo, if the camera was moved
PER_PHOTO: frozenset[str] = OWN | {"scale fit", "tilt"}


def combine(readings: Sequence[Reading], own: frozenset[str] = OWN) -> Reading:
    """The mean of n readings of one quantity; `own` names the lines that are independent from reading to reading.

    Scatter of the readings and the lines `own` of their budgets are pooled, each with its degrees of freedom (a pooled
    estimate of variance, JCGM 100, 4.2.4 and H.3.6), and divided by n (4.2.3). All other lines are common: their mean
    stands. With one reading nothing changes. `ValueError` for none, or for readings of different quantities.
    """
    if not readings or len({(one.name, one.unit) for one in readings}) > 1:
        raise ValueError("readings of one quantity are wanted")
    first, n = readings[0], len(readings)
    if n == 1:
        return first
    mean = math.fsum(one.value for one in readings) / n
    scatter = math.fsum((one.value - mean) ** 2 for one in readings)
    parts = [part for one in readings for part in one.budget.components if part.name in own]
    assumed = math.fsum(part.u**2 for part in parts) / n
    known = _dof(parts)
    free = known + n - 1
    pooled = assumed if math.isinf(known) else (known * assumed + scatter) / free
    deviation = math.sqrt(scatter / (n - 1))
    says = f"{n} readings, standard deviation {deviation:.3g} {first.unit}, pooled with the assumed pointing"
    doubt = CARE if any(part.doubt == CARE for part in parts) else ""
    repeated = Component("repeat readings", math.sqrt(pooled / n), free, "A", says, doubt=doubt)
    shared = [part for part in first.budget.components if part.name not in own]
    common = [_resized(part, _mean([_line(one, i, own) for one in readings])) for i, part in enumerate(shared)]
    return replace(first, value=mean, budget=Budget((repeated, *common)))


def _dof(parts: Sequence[Component]) -> float:
    """Degrees of freedom of the assumed lines: those of the best known line of the largest kind."""
    return max(parts, key=lambda part: part.u).dof if parts else 0.0


def _resized(part: Component, u: float) -> Component:
    """The component with another standard uncertainty, the form of its distribution kept."""
    if not part.errors or part.u == 0:
        return replace(part, u=u)
    grow = u / part.u
    return replace(part, u=u, errors=tuple(tuple(error * grow for error in errors) for errors in part.errors))


def _line(reading: Reading, index: int, own: frozenset[str]) -> float:
    return [part for part in reading.budget.components if part.name not in own][index].u


def _mean(values: Sequence[float]) -> float:
    return math.fsum(values) / len(values)
