"""Routes to the parts of a record: low and high, by steps or by time, proven and replayed."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from typing import Final

from unfasten.record.fold import fold_log
from unfasten.record.record import Record
from unfasten.routes.necessity import necessary, reachable, relevant
from unfasten.routes.price import Pricer
from unfasten.routes.problem import Problem, compile_problem
from unfasten.routes.reason import why_unreachable
from unfasten.routes.replay import replay
from unfasten.routes.result import By, Reach, Route
from unfasten.routes.search import STATES_PER_SECOND, Found, search
from unfasten.routes.unknown import Unknown, unknown_covers

#: steps that each remote notification or authorisation adds (Delegated Regulation (EU) 2023/1669 Annex IV point 5)
STEPS_PER_PAIRING: Final = 5


def solve(
    record: Record, targets: Sequence[str] | None = None, by: By = "steps", budget_s: float = 2.0
) -> dict[str, Reach]:
    """Give the reach of every part except the one that stays, or of `targets`, in the record's order.

    `budget_s` [s] is nominal: it is turned into a number of states, so that the answer does not depend on the machine.
    """
    folded = fold_log(record)
    return Solver(folded, by, budget_s).reaches(targets)


class Solver:
    """A folded record compiled once for low and once for high; answers one part after another."""

    def __init__(self, record: Record, by: By, budget_s: float) -> None:
        self.record = record
        self.by: By = by
        self.states = max(1, int(budget_s * STATES_PER_SECOND))
        self.unknown = unknown_covers(record)
        self.low = _Side(record, None, by)
        self.high = _Side(record, self.unknown, by) if self.unknown else self.low
        self.open_events = self._open_events()

    def reaches(self, targets: Sequence[str] | None = None) -> dict[str, Reach]:
        """Reach of each target."""
        names = [name for name, part in self.record.parts.items() if not part.stays]
        return {name: self.reach(name) for name in (names if targets is None else targets)}

    def reach(self, target: str) -> Reach:
        """Low and high route to one part."""
        additions = STEPS_PER_PAIRING * len(set(self.record.parts[target].pairing))
        low, relevant = self._route(self.low, target)
        high = low
        if self.high is not self.low and relevant & self.open_events:
            high, _ = self._route(self.high, target)
        reason = None
        if low is None:
            reason = why_unreachable(self.record, self.low.problem, self.low.table, target, None)
        elif high is None:
            reason = why_unreachable(self.record, self.high.problem, self.high.table, target, self.unknown)
        return Reach(target, low, None if low is None else high, additions, reason)

    def _open_events(self) -> int:
        """Events with unknown covers, as a mask."""
        names = {("release", name) for name, _ in self.unknown.ways}
        names |= {("lift", name) for name in (*self.unknown.parts, *self.unknown.bundles)}
        return sum(1 << i for i, event in enumerate(self.low.problem.events) if (event.kind, event.id) in names)

    def _route(self, side: _Side, target: str) -> tuple[Route | None, int]:
        """The best route on one side, and the events that can matter to the target there."""
        event = side.problem.target[target]
        events = relevant(side.problem, side.table, event)
        if not reachable(side.problem, side.table, event):
            return None, events
        found = search(side.problem, side.table, event, side.pricer, self.states)
        return self._checked(side, target, found), events

    def _checked(self, side: _Side, target: str, found: Found) -> Route:
        actions = tuple(action for _, way in found.sequence for action in way.actions)
        steps, time = replay(self.record, actions, target, side.unknown)
        first = Fraction(steps) if self.by == "steps" else time
        bound = first if found.proven else self._first_cost(side, found.bound)
        return Route(target, actions, steps, time, found.proven, bound)

    def _first_cost(self, side: _Side, cost: int) -> Fraction:
        whole = cost // side.pricer.first
        return Fraction(whole) if self.by == "steps" else side.problem.seconds(whole)


class _Side:
    """The problem with no unknown cover real (low) or all (high)."""

    def __init__(self, record: Record, unknown: Unknown | None, by: By) -> None:
        self.unknown = unknown
        self.problem: Problem = compile_problem(record, unknown)
        self.table = necessary(self.problem)
        self.pricer = Pricer(self.problem, by)
