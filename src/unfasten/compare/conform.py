"""Conformance probability and decision rules: does a measured value meet a requirement, given its uncertainty?

JCGM 106:2012, 7: with a normal distribution about the estimate y with standard uncertainty u, the conformance
probability of the interval from T_L to T_U is Phi((T_U - y)/u) - Phi((T_L - y)/u). The default rule accepts at a
conformance probability of at least 95 % (ISO 14253-1:2017) and rejects where non-conformance is shown as surely.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import erfc, inf, isnan, sqrt
from typing import Final, Literal

Verdict = Literal["shown", "against", "open"]
#: beyond this many standard uncertainties a probability is 0 or 1 as far as a decision goes
_FAR: Final = 8.0


@dataclass(frozen=True, slots=True)
class Rule:
    """A decision rule. `kind`: by conformance probability with `limit` [1], or a guard band of `k` u on either side."""

    kind: Literal["probability", "guard-band"] = "probability"
    limit: float = 0.95
    k: float = 2.0

    def __str__(self) -> str:
        """Give the rule as it is printed with every verdict."""
        if self.kind == "guard-band":
            return f"guard band of {self.k:g} u inside the limits (ISO 14253-1:1998 and 2013)"
        return f"conformance probability at least {self.limit * 100:g} % (JCGM 106, ISO 14253-1:2017)"

    def decide(self, low: float, high: float | None = None) -> Verdict:
        """Decide on a conformance probability, or on bounds of it."""
        upper = low if high is None else high
        if low >= self.limit:
            return "shown"
        return "against" if upper <= 1 - self.limit else "open"


def normal_cdf(z: float) -> float:
    """Standard normal distribution function."""
    return 0.5 * erfc(-z / sqrt(2))


def conformance(y: float, u: float, low: float = -inf, high: float = inf) -> float:
    """Conformance probability of an estimate `y` with standard uncertainty `u` (same unit), JCGM 106:2012, 7.4.

    `u` 0 gives 0 or 1. Raises `ValueError` for a negative `u` or limits in the wrong order.

    >>> round(conformance(13.6, 1.8, 12.5, 16.3), 4)
    0.6626
    """
    if u < 0 or low > high or isnan(y):
        raise ValueError(f"no conformance probability of {y} with u {u} between {low} and {high}")
    if u == 0:
        return 1.0 if low <= y <= high else 0.0
    return max(0.0, normal_cdf((high - y) / u) - normal_cdf((low - y) / u))


def guarded(u: float, k: float, low: float, high: float) -> tuple[float, float]:
    """Acceptance interval within the tolerance interval, narrowed by the guard band `k` u on either side.

    >>> guarded(0.02, 2, 9.9, 10.1)
    (9.94, 10.06)
    """
    return round(low + k * u, 12), round(high - k * u, 12)


def decide(y: float, u: float, low: float, high: float, rule: Rule) -> tuple[Verdict, float]:
    """Decide by the rule whether `y` conforms; the conformance probability is given either way."""
    probability = conformance(y, u, low, high)
    if rule.kind == "probability":
        return rule.decide(probability), probability
    inner, outer = guarded(u, rule.k, low, high), guarded(u, -rule.k, low, high)
    if inner[0] <= y <= inner[1]:
        return "shown", probability
    return ("open" if outer[0] <= y <= outer[1] else "against"), probability


def radial(r: float, u: float, limit: float) -> float:
    """Probability that a point seen `r` away from its place, `u` along each axis, is truly within `limit` (same unit).

    With a normal distribution of `u` along both axes, r squared over u squared is noncentral chi-squared distributed
    with two degrees of freedom.
    """
    if u == 0 or abs(limit - r) > _FAR * u:
        return 1.0 if r <= limit else 0.0
    from scipy.special import chndtr  # type: ignore[import-untyped]

    return float(chndtr((limit / u) ** 2, 2, (r / u) ** 2))


def decide_radial(r: float, u: float, limit: float, rule: Rule) -> tuple[Verdict, float]:
    """Decide by the rule whether a point seen `r` away is within `limit`; the probability is given either way."""
    probability = radial(r, u, limit)
    if rule.kind == "probability":
        return rule.decide(probability), probability
    if r <= limit - rule.k * u:
        return "shown", probability
    return ("against" if r > limit + rule.k * u else "open"), probability
