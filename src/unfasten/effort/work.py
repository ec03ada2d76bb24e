"""What a prediction gives: normal time written out, from least to most, or the reason why there is none."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from unfasten.evidence.interval import Interval


@dataclass(frozen=True, slots=True)
class Work:
    """Normal time at 100 % of doing something `times` times [s], written out; `tmu` where the model counts in TMU."""

    seconds: Fraction
    written: str
    times: int = 1
    tmu: int | None = None

    def as_json(self) -> dict[str, object]:
        """Give the JSON form."""
        return {"time_s": float(self.seconds), "tmu": self.tmu, "times": self.times, "written": self.written}


@dataclass(frozen=True, slots=True)
class Prediction:
    """A predicted time: `low` and `high` are equal where nothing is open, and both None where the model has no answer.

    `reason` says why there is no answer or why it is open, `look` what would settle it. `operation` is the name under
    which observations of the same kind are gathered.
    """

    operation: str
    low: Work | None
    high: Work | None
    reason: str | None = None
    look: str | None = None
    confidence: str = "own"
    why: str = ""

    @property
    def span(self) -> Interval | None:
        """Least and most time [s]; None where there is no answer."""
        return None if self.low is None or self.high is None else Interval(self.low.seconds, self.high.seconds)

    def as_json(self) -> dict[str, object]:
        """Give the JSON form."""
        return {
            "operation": self.operation,
            "low": None if self.low is None else self.low.as_json(),
            "high": None if self.high is None else self.high.as_json(),
            "reason": self.reason,
            "look": self.look,
            "confidence": self.confidence,
            "why": self.why,
        }


def refusal(operation: str, reason: str, look: str | None = None) -> Prediction:
    """A prediction that is not made."""
    return Prediction(operation, None, None, reason, look)
