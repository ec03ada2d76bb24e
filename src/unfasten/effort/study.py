"""Time study: normal and standard time, how many observations are needed, and observed against predicted times.

Observed time x rating = normal time, and only that is compared with a prediction; allowances are added afterwards.
"""

from __future__ import annotations

import math
import statistics
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Final, Literal

_PERCENT: Final = 100
#: how many standard deviations hold 95 % of differences (limits of agreement)
LIMITS_Z: Final = 1.96


def normal_time(observed: Fraction, rating: Fraction) -> Fraction:
    """Observed time times rating [s]; rating in percent, 100 is the normal pace."""
    return observed * rating / _PERCENT


def standard_time(normal: Fraction, allowance: Fraction, of: Literal["job", "shift"]) -> Fraction:
    """Normal time with an allowance in percent [s]: of the job, N (1 + a), or of the shift, N / (1 - a).

    Both conventions are in use; name the one you mean. Source: time-study-deck. `ValueError` for 100 % of a shift.

    >>> float(standard_time(Fraction(24), Fraction(20), "job"))
    28.8
    """
    share = allowance / _PERCENT
    if of == "shift" and share >= 1:
        raise ValueError(f"an allowance of {float(allowance):g} % of the shift leaves no time to work")
    return normal * (1 + share) if of == "job" else normal / (1 - share)


def observations_needed(mean: float, s: float, factor: float, accuracy: float) -> float:
    """Number of observations so that the mean is within `accuracy` percent: (c s / (k mean))², not rounded up.

    `factor` is z, or t for a small sample. Source: time-study-deck. Raises `ValueError` where mean or accuracy is zero.
    """
    if mean <= 0 or accuracy <= 0:
        raise ValueError("mean and accuracy must be above zero")
    return (factor * s / (accuracy / _PERCENT * mean)) ** 2


def t_factor(confidence: float, freedom: int) -> float:
    """Two-sided t for a confidence in percent and degrees of freedom."""
    from scipy.special import stdtrit  # type: ignore[import-untyped]

    return float(stdtrit(freedom, 0.5 + confidence / 200))


def spread_interval(s: float, confidence: float, freedom: int) -> tuple[float, float]:
    """Confidence interval of a standard deviation by chi-square, for normally distributed differences."""
    from scipy.special import chdtri

    tail = 0.5 - confidence / 200
    return tuple(s * math.sqrt(freedom / float(chdtri(freedom, p))) for p in (tail, 1 - tail))  # type: ignore[return-value]


@dataclass(frozen=True, slots=True)
class Pair:
    """One observation: normal time of one cycle, and the least and most that is predicted for it [s]."""

    subject: str
    normal: Fraction
    low: Fraction
    high: Fraction

    @property
    def middle(self) -> Fraction:
        """Middle of the prediction [s]."""
        return (self.low + self.high) / 2


@dataclass(frozen=True, slots=True)
class Agreement:
    """Observed against predicted for one kind of operation; times per cycle [s].

    `ratio` is the mean of normal over predicted (middle), `ratio_span` the same with the most and the least predicted.
    `bias` is the mean of normal less predicted, `spread` the standard deviation of those differences. Intervals, spread
    and the number of observations needed are None with fewer than two observations. `needed` rounds up.
    """

    operation: str
    count: int
    mean: float
    s: float | None
    ratio: float
    ratio_interval: tuple[float, float] | None
    ratio_span: tuple[float, float]
    bias: float
    bias_interval: tuple[float, float] | None
    spread: float | None
    spread_interval: tuple[float, float] | None
    limits: tuple[float, float] | None
    error: float
    needed: int | None

    def as_json(self) -> dict[str, object]:
        """Give the JSON form."""
        return {
            "operation": self.operation,
            "observations": self.count,
            "mean_s": self.mean,
            "s_s": self.s,
            "ratio": self.ratio,
            "ratio_interval": self.ratio_interval,
            "ratio_open": self.ratio_span,
            "bias_s": self.bias,
            "bias_interval_s": self.bias_interval,
            "spread_s": self.spread,
            "spread_interval_s": self.spread_interval,
            "limits_of_agreement_s": self.limits,
            "mean_absolute_error_percent": self.error,
            "observations_needed": self.needed,
        }


def agreement(operation: str, pairs: Sequence[Pair], confidence: float, accuracy: float) -> Agreement:
    """Compare observations with predictions; `ValueError` without any. `confidence` and `accuracy` in percent."""
    if not pairs:
        raise ValueError("no observation")
    normals = [float(pair.normal) for pair in pairs]
    ratios = [float(pair.normal / pair.middle) for pair in pairs]
    differences = [float(pair.normal - pair.middle) for pair in pairs]
    mean, bias = statistics.fmean(normals), statistics.fmean(differences)
    count = len(pairs)
    s = statistics.stdev(normals) if count > 1 else None
    spread = statistics.stdev(differences) if count > 1 else None
    needed = None
    if s is not None and mean > 0:
        needed = max(1, math.ceil(observations_needed(mean, s, t_factor(confidence, count - 1), accuracy)))
    return Agreement(
        operation,
        count,
        mean,
        s,
        statistics.fmean(ratios),
        _interval(ratios, confidence),
        (
            statistics.fmean(float(pair.normal / pair.high) for pair in pairs),
            statistics.fmean(float(pair.normal / pair.low) for pair in pairs),
        ),
        bias,
        _interval(differences, confidence),
        spread,
        None if spread is None else spread_interval(spread, confidence, count - 1),
        None if spread is None else (bias - LIMITS_Z * spread, bias + LIMITS_Z * spread),
        _PERCENT * statistics.fmean(abs(d) / float(pair.middle) for d, pair in zip(differences, pairs, strict=True)),
        needed,
    )


def _interval(values: Sequence[float], confidence: float) -> tuple[float, float] | None:
    """Confidence interval of the mean by t; None with fewer than two values."""
    if len(values) < 2:
        return None
    half = t_factor(confidence, len(values) - 1) * statistics.stdev(values) / math.sqrt(len(values))
    mean = statistics.fmean(values)
    return mean - half, mean + half
