"""A world: the record with a certain set of unknown covers taken as real. Every route is the best in one world."""

from __future__ import annotations

from fractions import Fraction
from typing import Final

from unfasten.record.record import Record
from unfasten.routes.allowance import UNITS_PER_SECOND
from unfasten.routes.excerpt import Excerpt, closure, excerpt
from unfasten.routes.necessity import necessary, reachable, relevant
from unfasten.routes.plans import Plans
from unfasten.routes.price import Pricer
from unfasten.routes.problem import Barred, Problem, compile_problem
from unfasten.routes.reason import why_unreachable
from unfasten.routes.replay import replay
from unfasten.routes.result import By, Route
from unfasten.routes.search import Found, search
from unfasten.routes.unknown import Unknown

DEFAULT_BUDGET_S: Final = 2.0


class World:
    """A folded record compiled with the covers in `real` and without what is `barred`; answers routes by one objective.

    `budget_s` [s] is nominal: it is turned into an amount of work, so that the answer does not depend on the machine.
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
        self.units = max(1, int(budget_s * UNITS_PER_SECOND))
        self.problem: Problem = compile_problem(record, real, barred)
        self.table = necessary(self.problem)
        self.excerpts: dict[tuple[int, ...], Excerpt] = {}

    def events_of(self, target: str) -> frozenset[tuple[str, str]]:
        """Events that can matter to a target, as (kind, id); kind is `lift`, `swing` or `release`."""
        mask = relevant(self.problem, self.table, self.problem.target[target])
        return frozenset((e.kind, e.id) for i, e in enumerate(self.problem.events) if mask >> i & 1)

    def route(self, *targets: str, by: By | None = None) -> Route | None:
        """The best route after which every target has been lifted alone; None if there is none.

        `by` is the world's own objective unless given; both objectives share what is known of the plans.
        """
        events = tuple(sorted(self.problem.target[target] for target in set(targets)))
        if not reachable(self.problem, self.table, events):
            return None
        if events not in self.excerpts:
            self.excerpts[events] = excerpt(self.problem, closure(self.problem, self.table, events), events)
        part, by = self.excerpts[events], by or self.by
        pricer = part.pricer(by)
        plans = Plans(part.problem, part.table, part.goals, pricer, part.plans)
        return self._checked(targets, search(plans, pricer, self.units), pricer)

    def reason(self, target: str) -> str:
        """Say why a target has no route in this world."""
        return why_unreachable(self.record, self.problem, self.table, target, self.real)

    def _checked(self, targets: tuple[str, ...], found: Found, pricer: Pricer) -> Route:
        actions = tuple(action for _, way in found.sequence for action in way.actions)
        steps, time = replay(self.record, actions, targets, self.real)
        first = Fraction(steps) if pricer.by == "steps" else time
        if found.proven:
            return Route("+".join(targets), actions, steps, time, True, first)
        whole = found.bound // pricer.first
        bound = Fraction(whole) if pricer.by == "steps" else self.problem.seconds(whole)
        return Route("+".join(targets), actions, steps, time, False, bound)
