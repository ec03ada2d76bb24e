"""What the check values of comparison are computed with."""

from __future__ import annotations

from collections.abc import Mapping
from math import degrees, sqrt
from typing import Any

from unfasten.compare.allowance import general_tolerance
from unfasten.compare.conform import conformance, guarded, radial
from unfasten.compare.measured import change_of
from unfasten.compare.rigid import best_fit, distances
from unfasten.evidence.checkvalue import Computed, Models
from unfasten.evidence.quantity import parse

MODELS = Models()


@MODELS.model("conformity.probability")
def conformance_probability(given: Mapping[str, Any]) -> Mapping[str, Computed]:
    """Conformance probability of an estimate between two limits."""
    return {"p_c": conformance(*(float(given[key]) for key in ("y", "u", "low", "high")))}


@MODELS.model("conformity.guard-band")
def guard_band(given: Mapping[str, Any]) -> Mapping[str, Computed]:
    """Ends of the acceptance interval."""
    low, high = guarded(*(float(given[key]) for key in ("u", "k", "low", "high")))
    return {"low": low, "high": high}


@MODELS.model("conformity.radial")
def radial_probability(given: Mapping[str, Any]) -> Mapping[str, Computed]:
    """Probability that a point lies within a distance."""
    return {"p": radial(*(float(given[key]) for key in ("r", "u", "limit")))}


@MODELS.model("conformity.rigid")
def rigid_fit(given: Mapping[str, Any]) -> Mapping[str, Computed]:
    """The rigid fit of points onto points: turn, shift, and distances that remain."""
    from numpy import array

    points = array(given["points"], dtype=float) * array([given.get("mirror", 1), 1], dtype=float)
    onto = array(given["onto"], dtype=float)
    motion = best_fit(points, onto)
    gaps = distances(motion, points, onto)
    return {
        "turn": degrees(motion.angle),
        "x": motion.shift[0],
        "y": motion.shift[1],
        "rms": sqrt(float((gaps**2).mean())),
        "greatest": float(gaps.max()),
    }


@MODELS.model("conformity.difference")
def measured_difference(given: Mapping[str, Any]) -> Mapping[str, Computed]:
    """A measured difference against its expanded uncertainty."""
    change = change_of(parse(given["before"], "length"), parse(given["after"], "length"))
    return {"delta": change.delta, "u": change.u or 0, "verdict": change.beyond}


@MODELS.model("conformity.general-tolerance")
def tolerance(given: Mapping[str, Any]) -> Mapping[str, Computed]:
    """Permissible deviation of a length."""
    return {"deviation": general_tolerance(float(given["length"]))}
