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
    clause, the member that clears it in that route with everything that this member makes necessary. A plan's own bound
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
                self._grow(events)
                outlook = self._build(events)
                better = None if outlook is None else outlook.bound(START, self.pricer)
                if outlook is None or better is None:
                    continue
                if better > bound:
                    self.built[events] = outlook
                    heapq.heappush(self.queue, (better, size, events))
                    continue
            return bound, outlook
        return None

    def _grow(self, events: int) -> None:
        for larger in self._larger(events):
            if larger not in self.seen:
                self.seen.add(larger)
                heapq.heappush(self.queue, (self._growing(larger), larger.bit_count(), larger))

    def _build(self, events: int) -> Outlook | None:
        """The plan with its outlook; None if it does not suffice or cannot be carried out."""
        if events not in self.known:
            outlook = None
            if next(self._unsupported(events), None) is None:
                plan = Plan(self.problem, events)
                outlook = Outlook(plan) if plan.feasible else None
            self.known[events] = outlook
        return self.known[events]

    def _growing(self, events: int) -> int:
        """Lower bound that holds for every larger plan too: moves, labels, preparations and work by the best ways."""
        time = steps = special = 0
        labels: set[int] = set()
        for index in bits(events):
            ways = self.problem.events[index].ways
            time += min(way.total for way in ways)
            special += min(way.special for way in ways)
            steps += min(sum(max(1, p.bit_count()) for p, _ in way.prepare) for way in ways)
            if all(way.tools == ways[0].tools for way in ways):
                labels.add(ways[0].tools)
        steps += max((events & self.moves).bit_count(), sum(label.bit_count() for label in labels))
        return steps * self.pricer.step + time * self.pricer.second + special

    def _unsupported(self, events: int) -> Iterator[int]:
        """Events of which no way has all its clauses met within the plan."""
        for index in bits(events):
            ways = self.problem.events[index].ways
            if not any(all(clause & events for clause in way.clauses) for way in ways):
                yield index

    def _larger(self, events: int) -> Iterator[int]:
        """Plans one addition larger: for an unsupported event what it lacks, else any other member of any clause."""
        lacking = next(self._unsupported(events), None)
        for index in bits(events) if lacking is None else (lacking,):
            for way in self.problem.events[index].ways:
                clauses = way.clauses if lacking is None else [c for c in way.clauses if not c & events][:1]
                for clause in clauses:
                    for member in bits(clause & ~events):
                        if self.table[member] >= 0:
                            yield events | self.table[member]
