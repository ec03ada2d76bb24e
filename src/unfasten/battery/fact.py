"""What is told of a battery: facts with unit, uncertainty and origin, and rulings with one of four verdicts."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from unfasten.battery.figures import figure_json
from unfasten.evidence.parameter import Figure

Verdict = Literal["met", "not met", "does not apply", "unknown"]
Origin = Literal["label", "measured", "computed", "assumed"]


@dataclass(frozen=True, slots=True)
class Fact:
    """One figure or word: `value` None is unknown, and `look` says what to look at; `u` None is not assessed."""

    id: str
    title: str
    value: float | str | None = None
    unit: str = ""
    u: float | None = None
    places: int = 1
    origin: Origin | None = None
    says: str = ""
    look: str | None = None

    @property
    def text(self) -> str:
        """Value with uncertainty and unit, as a sheet prints it."""
        if self.value is None:
            return "unknown"
        if isinstance(self.value, str):
            return self.value
        pm = "" if self.u is None else f" ± {self.u:.{self.places}f}"
        return f"{self.value:.{self.places}f}{pm} {self.unit}".rstrip()

    def as_json(self) -> dict[str, object]:
        """Give the JSON form."""
        return {
            "id": self.id,
            "title": self.title,
            "value": self.value,
            "unit": self.unit,
            "u": self.u,
            "text": self.text,
            "origin": self.origin,
            "says": self.says,
            "look": self.look,
        }


@dataclass(frozen=True, slots=True)
class Ruling:
    """One requirement: the verdict, why, what to look at where it is unknown, and the dated figures it rests on."""

    id: str
    title: str
    verdict: Verdict
    says: str
    look: tuple[str, ...] = ()
    figures: tuple[Figure, ...] = ()

    def as_json(self) -> dict[str, object]:
        """Give the JSON form."""
        return {
            "id": self.id,
            "title": self.title,
            "verdict": self.verdict,
            "says": self.says,
            "look": list(self.look),
            "figures": [figure_json(one) for one in self.figures],
        }
