"""What the solver answers: actions, routes, and the reach of a part (low and high)."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

By = Literal["steps", "time"]


@dataclass(frozen=True, slots=True)
class Action:
    """One action of a route. `work` is its own time in seconds, without tool changes and turns."""

    do: Literal["prepare", "release", "lift", "swing"]
    joint: str | None = None
    way: int | None = None
    what: str | None = None
    part: str | None = None
    bundle: str | None = None
    swing: str | None = None
    tools: tuple[str, ...] = ()
    side: str = "any"
    work: Fraction = Fraction(0)

    @property
    def id(self) -> str:
        """Id of the joint, part, bundle or swing the action is about."""
        return self.joint or self.part or self.bundle or self.swing or ""


@dataclass(frozen=True, slots=True)
class Route:
    """A legal sequence to `target` with its cost as the replay counts it.

    `steps` is without pairing additions; `time` in seconds, exact. Where `proven` is false, `bound` is a valid lower
    bound of the objective's first cost (steps without additions, or seconds).
    """

    target: str
    actions: tuple[Action, ...]
    steps: int
    time: Fraction
    proven: bool
    bound: Fraction


@dataclass(frozen=True, slots=True)
class Additions:
    """Steps that pairing adds to a part, at least and at most; the two differ where swap tests leave it open."""

    low: int = 0
    high: int = 0

    def __str__(self) -> str:
        """`5`, or `0 to 10`."""
        return str(self.low) if self.low == self.high else f"{self.low} to {self.high}"


@dataclass(frozen=True, slots=True)
class Reach:
    """How deep a part sits: the best route if no unknown cover is real (`low`) and if all are (`high`).

    `low` None: not reachable, and `reason` says why. `high` None alone: unreachable if every unknown cover is real;
    then too `reason` says why. `additions` are the steps that pairing adds (in `steps_low` and `steps_high`).
    """

    target: str
    low: Route | None
    high: Route | None
    additions: Additions = Additions()
    reason: str | None = None

    @property
    def steps_low(self) -> int | None:
        """Steps of the low route with the pairing additions."""
        return None if self.low is None else self.low.steps + self.additions.low

    @property
    def steps_high(self) -> int | None:
        """Steps of the high route with the pairing additions."""
        return None if self.high is None else self.high.steps + self.additions.high
