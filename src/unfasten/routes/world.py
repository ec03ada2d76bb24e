"""A world: the record with a certain set of unknown covers taken as real. Every route is the best in one world."""

from __future__ import annotations

from fractions import Fraction
from typing import Final

from unfasten.record.record import Record
from unfasten.routes.necessity import necessary, reachable, relevant
from unfasten.routes.price import Pricer
from unfasten.routes.problem import Barred, Problem, compile_problem
from unfasten.routes.reason import why_unreachable
from unfasten.routes.replay import replay
from unfasten.routes.result import By, Route
from unfasten.routes.search import STATES_PER_SECOND, Found, search
from unfasten.routes.unknown import Unknown

DEFAULT_BUDGET_S: Final = 2.0


class World:
    """A folded record compiled with the covers in `real` and without what is `barred`; answers routes by one objective.

    `budget_s` [s] is nominal: it is turned into a number of states, so that the answer does not depend on the machine.
    """

    def __init__(
        self,
        record: Record,
        real: Unknown | None = None,
        by: By = "steps",
        budget_s: float = DEFAULT_BUDGET_S,
        barred: frozenset[Barred] = frozenset(),
    ) -> None:
        self.record = record
        self.real = real
        self.by: By = by
        self.states = max(1, int(budget_s * STATES_PER_SECOND))
        self.problem: Problem = compile_problem(record, real, barred)
        self.table = necessary(self.problem)
        self.pricer = Pricer(self.problem, by)

    def events_of(self, target: str) -> frozenset[tuple[str, str]]:
        """Events that can matter to a target, as (kind, id); kind is `lift`, `swing` or `release`."""
        mask = relevant(self.problem, self.table, self.problem.target[target])
        return frozenset((e.kind, e.id) for i, e in enumerate(self.problem.events) if mask >> i & 1)

    def route(self, *targets: str) -> Route | None:
        """The best route after which every target has been lifted alone; None if there is none."""
        events = tuple(sorted(self.problem.target[target] for target in set(targets)))
        if not reachable(self.problem, self.table, events):
            return None
        found = search(self.problem, self.table, events, self.pricer, self.states)
        return self._checked(targets, found)

    def reason(self, target: str) -> str:
        """Say why a target has no route in this world."""
        return why_unreachable(self.record, self.problem, self.table, target, self.real)

    def _checked(self, targets: tuple[str, ...], found: Found) -> Route:
        actions = tuple(action for _, way in found.sequence for action in way.actions)
        steps, time = replay(self.record, actions, targets, self.real)
        first = Fraction(steps) if self.by == "steps" else time
        bound = first if found.proven else self._first_cost(found.bound)
        return Route("+".join(targets), actions, steps, time, found.proven, bound)

    def _first_cost(self, cost: int) -> Fraction:
        whole = cost // self.pricer.first
        return Fraction(whole) if self.by == "steps" else self.problem.seconds(whole)
