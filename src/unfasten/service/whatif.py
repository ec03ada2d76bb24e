"""What if: a record with changes made to a copy, judged before and after. The record itself stays as it is."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from unfasten.evidence.errors import CallError
from unfasten.evidence.interval import decimal_text
from unfasten.record.change import read_changed, settled
from unfasten.record.finding import Finding
from unfasten.record.record import Record
from unfasten.routes.result import Reach
from unfasten.routes.solve import solve
from unfasten.rules.assessment import Assessment
from unfasten.service.assess import DEFAULT_RULES, assess
from unfasten.service.best import Best, priority_parts
from unfasten.service.effect import Effect, effects, route_effect
from unfasten.service.gauge import IndexGauge, points
from unfasten.service.ranking import Gain


class ChangeInvalid(CallError):  # noqa: N818 - names the outcome
    """Changes that cannot be made; `findings` are all that is wrong with them."""

    def __init__(self, findings: Sequence[Finding]) -> None:
        self.findings = tuple(findings)
        count = f"{len(self.findings)} error{'' if len(self.findings) == 1 else 's'} in the changes"
        super().__init__("whatif.invalid-change", "CHANGE", count, "mend what is listed")

    def __str__(self) -> str:
        """List every error, and below them the sentence that counts them."""
        return "\n".join([*map(str, self.findings), super().__str__()])

    def as_json(self) -> dict[str, object]:
        """Give the JSON error shape with all findings."""
        return super().as_json() | {"findings": [finding.as_json() for finding in self.findings]}


@dataclass(frozen=True, slots=True)
class State:
    """How a record stands: the reaches of its parts with a role, and its assessment."""

    record: Record
    reaches: Mapping[str, Reach]
    assessment: Assessment

    def as_json(self) -> dict[str, object]:
        """Index, class, scores, and the depth of each part."""
        judged = self.assessment
        points, grade = judged.points, judged.grade
        return {
            "applies": judged.applies,
            "reason": judged.reason,
            "index": points.as_json() if points else None,
            "class": grade.as_json() if grade else None,
            "scores": {n: s.interval.as_json() if s.interval else None for n, s in judged.scores.items()},
            "parts": {name: _reach_json(reach) for name, reach in self.reaches.items()},
        }


@dataclass(frozen=True, slots=True)
class WhatIf:
    """The changes as they were written, and how the record stands without and with them."""

    changes: tuple[str, ...]
    rules: str
    on: date
    before: State
    after: State

    def effects(self) -> tuple[Effect, ...]:
        """Every score that moved, with the reason."""
        return effects(self.before.assessment, self.after.assessment)

    def as_json(self) -> dict[str, object]:
        """Give the JSON form."""
        return {
            "rules": self.rules,
            "on": self.on.isoformat(),
            "changes": list(self.changes),
            "before": self.before.as_json(),
            "after": self.after.as_json(),
            "effects": [effect.as_json() for effect in self.effects()],
        }


def what_if(record: Record, changes: Sequence[str], on: date, ruleset: str = DEFAULT_RULES) -> WhatIf:
    """Judge the record as it is, and with every change made; raises `ChangeInvalid` with all that is wrong."""
    base = settled(record)
    reading = read_changed(base, changes)
    if reading.record is None:
        raise ChangeInvalid(reading.findings)
    before = _state(base, on, ruleset)
    return WhatIf(tuple(changes), ruleset, on, before, _state(reading.record, on, ruleset))


def _state(record: Record, on: date, ruleset: str) -> State:
    reaches = solve(record, priority_parts(record))
    return State(record, reaches, assess(record, reaches, on, ruleset))


def best_json(best: Best) -> dict[str, object]:
    """Give the JSON form of the best changes."""
    gauge = best.gauge
    out: dict[str, object] = {"for": "index" if isinstance(gauge, IndexGauge) else gauge.part, "tried": best.tried}
    if isinstance(gauge, IndexGauge):
        out |= {"rules": gauge.edition.id, "on": gauge.on.isoformat(), "index": gauge.before.as_json()}
    else:
        out["part"] = _reach_json(best.stand.reaches[gauge.part])
    out["best"] = [_gain_json(best, gain) for gain in best.singles]
    return out | {"pairs": [_gain_json(best, gain) for gain in best.pairs]}


def reasons(best: Best, gain: Gain) -> list[str]:
    """Why a change gains, a sentence each."""
    gauge = best.gauge
    if isinstance(gauge, IndexGauge):
        return [str(effect) for effect in effects(gauge.verdict, gauge.verdict_of(gain.trial))]
    return [route_effect(best.stand.reaches[gauge.part], gain.trial.reaches()[gauge.part])]


def _gain_json(best: Best, gain: Gain) -> dict[str, object]:
    gauge = best.gauge
    out: dict[str, object] = {
        "changes": [change.text for change in gain.changes],
        "says": "; ".join(change.says for change in gain.changes),
    }
    if isinstance(gauge, IndexGauge):
        verdict = gauge.verdict_of(gain.trial)
        after, grade = points(verdict), verdict.grade
        out |= {
            "gain": {
                "low": decimal_text(after.low - gauge.before.low),
                "high": decimal_text(after.high - gauge.before.high),
            },
            "index": after.as_json(),
            "class": grade.as_json() if grade else None,
            "effects": [effect.as_json() for effect in effects(gauge.verdict, verdict)],
        }
    else:
        out["part"] = _reach_json(gain.trial.reaches()[gauge.part])
    return out | {"reasons": reasons(best, gain)}


def _reach_json(reach: Reach) -> dict[str, object]:
    """Steps, and time [s], low and high; None where there is no route."""
    if reach.low is None:
        return {"steps": None, "time_s": None, "reason": reach.reason}
    times = [None if route is None else round(float(route.time), 6) for route in (reach.low, reach.high)]
    ends = times if times[1] is None else sorted(time for time in times if time is not None)
    return {
        "steps": {"low": reach.steps_low, "high": reach.steps_high},
        "time_s": {"low": ends[0], "high": ends[1]},
        "proven": all(route is None or route.proven for route in (reach.low, reach.high)),
    }
