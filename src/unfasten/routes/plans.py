"""Enumerate the plans of a target or several, cheapest lower bound first."""

from __future__ import annotations

import heapq
from collections.abc import Iterator

from unfasten.routes.necessity import bits
from unfasten.routes.plan import Plan
from unfasten.routes.price import START, Pricer
from unfasten.routes.problem import Problem
from unfasten.routes.relaxed import Outlook


class Plans:
    """Plans of one target or several in the order of their lower bounds; `peek` bounds all that are still to come.

    Complete: the events of an irreducible route are reached from the necessary ones by adding, for some event and
    clause, the member that clears it in that route with everything that this member makes necessary. A plan with a move
    that is idle holds no irreducible route, only larger plans may. A plan's own bound
    may exceed a larger plan's (which may allow better ways), so larger plans are queued by a bound that only grows.
    `known` keeps plans already built for the same problem.
    """

    def __init__(
        self,
        problem: Problem,
        table: list[int],
        targets: tuple[int, ...],
        pricer: Pricer,
        known: dict[int, Outlook | None] | None = None,
    ) -> None:
        self.problem = problem
        self.table = table
        self.goal = sum(1 << target for target in targets)
        self.known = {} if known is None else known
        self.pricer = pricer
        self.moves = (1 << problem.moves) - 1
        first = 0
        for target in targets:
            first |= table[target]
        self.queue: list[tuple[int, int, int]] = [(self._growing(first), first.bit_count(), first)]
        self.seen = {first}
        self.built: dict[int, Outlook] = {}

    def peek(self) -> int | None:
        """Lower bound of every plan still to come; None if there is none."""
        return self.queue[0][0] if self.queue else None

    def pop(self) -> tuple[int, Outlook] | None:
        """Give the plan with the least lower bound, and that bound; None when there is no other."""
        while self.queue:
            bound, size, events = heapq.heappop(self.queue)
            outlook = self.built.pop(events, None)
            if outlook is None:
                lacking = self._lacking(events)
                self._grow(events, lacking)
                outlook = self._build(events) if lacking is None else None
                better = None if outlook is None else outlook.bound(START, self.pricer)
                if outlook is None or better is None:
                    continue
                if better > bound:
                    self.built[events] = outlook
                    heapq.heappush(self.queue, (better, size, events))
                    continue
            return bound, outlook
        return None

    def _grow(self, events: int, lacking: int | None) -> None:
        for larger in self._larger(events, lacking):
            if larger not in self.seen:
                self.seen.add(larger)
                heapq.heappush(self.queue, (self._growing(larger), larger.bit_count(), larger))

    def _build(self, events: int) -> Outlook | None:
        """The plan with its outlook; None if it cannot be carried out, or all its sequences have a removable move."""
        if events not in self.known:
            plan = Plan(self.problem, events)
            self.known[events] = Outlook(plan) if plan.feasible else None
        outlook = self.known[events]
        return None if outlook is None or outlook.plan.idle & ~self.goal else outlook

    def _growing(self, events: int) -> int:
        """Lower bound that holds for every larger plan too: moves, labels, preparations and work by the best ways."""
        time = steps = special = 0
        labels: set[int] = set()
        for index in bits(events):
            of_time, of_steps, of_special, label = self.pricer.alone[index]
            time += of_time
            steps += of_steps
            special += of_special
            labels.add(label)
        steps += max((events & self.moves).bit_count(), sum(label.bit_count() for label in labels))
        return steps * self.pricer.step + time * self.pricer.second + special

    def _lacking(self, events: int) -> int | None:
        """The first event of which no way has all its clauses met within the plan."""
        for index in bits(events):
            for way in self.problem.events[index].ways:
                for clause in way.clauses:
                    if not clause & events:
                        break
                else:
                    break
            else:
                return index
        return None

    def _larger(self, events: int, lacking: int | None) -> Iterator[int]:
        """Plans one addition larger: for an unsupported event what it lacks, else any other member of any clause."""
        for index in bits(events) if lacking is None else (lacking,):
            for way in self.problem.events[index].ways:
                clauses = way.clauses if lacking is None else [c for c in way.clauses if not c & events][:1]
                for clause in clauses:
                    more = clause & ~events
                    if more:
                        for member in bits(more):
                            if self.table[member] >= 0:
                                yield events | self.table[member]
