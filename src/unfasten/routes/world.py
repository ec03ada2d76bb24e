"""A world: the record with a certain set of unknown covers taken as real. Every route is the best in one world."""

from __future__ import annotations

from fractions import Fraction
from typing import Final

from unfasten.record.record import Record
from unfasten.routes.allowance import UNITS_PER_SECOND
from unfasten.routes.excerpt import Excerpt, excerpt
from unfasten.routes.necessity import bits, necessary, reachable, relevant
from unfasten.routes.price import Pricer
from unfasten.routes.problem import Barred, Problem, compile_problem, with_unknown
from unfasten.routes.reason import why_unreachable
from unfasten.routes.replay import joints_of, replay
from unfasten.routes.result import By, Route
from unfasten.routes.search import Found
from unfasten.routes.unknown import Unknown

DEFAULT_BUDGET_S: Final = 2.0


class World:
    """A folded record compiled with the covers in `real` and without what is `barred`; answers routes by one objective.

    `budget_s` [s] is nominal: it is turned into an amount of work, so that the answer does not depend on the machine.
    `like` is a world of the same record without unknown covers and with nothing barred; it makes compiling quicker.
    Without `ordered` any of the routes of least cost is given, not the first of them by name.
    """

    def __init__(
        self,
        record: Record,
        real: Unknown | None = None,
        by: By = "steps",
        budget_s: float = DEFAULT_BUDGET_S,
        barred: frozenset[Barred] = frozenset(),
        like: World | None = None,
        *,
        ordered: bool = True,
    ) -> None:
        self.ordered = ordered
        self.record = record
        self.real = real
        self.by: By = by
        self.units = max(1, int(budget_s * UNITS_PER_SECOND))
        if like is None:
            self.problem: Problem = compile_problem(record, real, barred)
            self.joints = joints_of(record)
        else:
            self.problem = with_unknown(like.problem, record, real or Unknown({}, {}, {}))
            self.joints = like.joints
        self.table = necessary(self.problem)
        self.closures: dict[str, int] = {}
        self.replayed: dict[object, tuple[int, Fraction]] = {}
        self.excerpts: dict[tuple[int, ...], Excerpt | None] = {}

    def events_of(self, target: str) -> frozenset[tuple[str, str]]:
        """Events that can matter to a target, as (kind, id); kind is `lift`, `swing` or `release`."""
        return frozenset((self.problem.events[i].kind, self.problem.events[i].id) for i in bits(self.closure(target)))

    def closure(self, target: str) -> int:
        """Events that can matter to a target, as a mask over the events of the problem."""
        if target not in self.closures:
            self.closures[target] = relevant(self.problem, self.table, self.problem.target[target])
        return self.closures[target]

    def route(self, *targets: str, by: By | None = None) -> Route | None:
        """The best route after which every target has been lifted alone; None if there is none.

        `by` is the world's own objective unless given; both objectives share what is known of the plans.
        """
        events = tuple(sorted(self.problem.target[target] for target in set(targets)))
        if events not in self.excerpts:
            within = 0
            for target in targets:
                within |= self.closure(target)
            possible = reachable(self.problem, self.table, events, within)
            self.excerpts[events] = excerpt(self.problem, within, events) if possible else None
        part = self.excerpts[events]
        if part is None:
            return None
        by = by or self.by
        return self._checked(targets, part.search(by, self.units, ordered=self.ordered), part.pricer(by))

    def reason(self, target: str) -> str:
        """Say why a target has no route in this world."""
        return why_unreachable(self.record, self.problem, self.table, target, self.real)

    def _checked(self, targets: tuple[str, ...], found: Found, pricer: Pricer) -> Route:
        actions = tuple(action for _, way in found.sequence for action in way.actions)
        key = targets, tuple((index, way.number) for index, way in found.sequence)
        if key not in self.replayed:
            self.replayed[key] = replay(self.record, actions, targets, self.real, self.joints)
        steps, time = self.replayed[key]
        first = Fraction(steps) if pricer.by == "steps" else time
        if found.proven:
            return Route("+".join(targets), actions, steps, time, True, first)
        whole = found.bound // pricer.first
        bound = Fraction(whole) if pricer.by == "steps" else self.problem.seconds(whole)
        return Route("+".join(targets), actions, steps, time, False, bound)
