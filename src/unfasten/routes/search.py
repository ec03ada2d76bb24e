"""Exact search: plans in the order of their bounds, each ordered exactly, ties settled by name."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from unfasten.routes.allowance import Allowance, OutOfWorkError
from unfasten.routes.beam import beam
from unfasten.routes.canonical import first_in_order, keys
from unfasten.routes.plans import Plans
from unfasten.routes.price import Pricer
from unfasten.routes.schedule import Schedule, Step


@dataclass(frozen=True, slots=True)
class Found:
    """A sequence; `bound` is a lower bound of the cost and equals it where `proven`."""

    sequence: tuple[Step, ...]
    bound: int
    proven: bool


def search(plans: Plans, pricer: Pricer, units: int) -> Found:
    """Find the canonical cheapest sequence to targets that are known to be reachable.

    Spends at most about `units` of work on the proof, and as many again on the order among equals of each plan.
    """
    allowance = Allowance(units)
    best: int | None = None
    tied: list[tuple[Schedule, tuple[Step, ...]]] = []
    while (following := plans.pop()) is not None:
        bound, outlook = following
        if best is not None and bound > best:
            break
        schedule = Schedule(outlook, pricer, allowance)
        try:
            result = schedule.search(limit=best)
        except OutOfWorkError as out:
            known = [value for value in (max(out.bound, bound), plans.peek(), best) if value is not None]
            return _unproven(schedule, tied, min(known), plans)
        if result is None:
            continue
        cost, sequence = result
        if best is None or cost < best:
            best, tied = cost, []
        tied.append((schedule, sequence))
    if best is None:
        raise AssertionError("a reachable target has a plan")
    return Found(_first(tied, best, plans.goal, units), best, True)


def _first(tied: Iterable[tuple[Schedule, tuple[Step, ...]]], cost: int, goal: int, units: int) -> tuple[Step, ...]:
    """The first in order over the plans of equal cost; the first found if the allowance does not last."""
    found: list[tuple[Step, ...]] = []
    fallback: tuple[Step, ...] | None = None
    for schedule, sequence in tied:
        fallback = fallback or sequence
        schedule.allowance.units = units
        try:
            one = first_in_order(schedule, cost, goal)
        except OutOfWorkError:
            one = sequence
        if one is not None:
            found.append(one)
    return min(found, key=keys) if found else fallback or ()


def _unproven(schedule: Schedule, tied: list[tuple[Schedule, tuple[Step, ...]]], bound: int, plans: Plans) -> Found:
    """The best sequence at hand when the allowance is used up: one already found, or what a beam finds."""
    sequence = tied[0][1] if tied else beam(schedule)
    while sequence is None:
        following = plans.pop()
        if following is None:
            raise AssertionError("a reachable target has a plan")
        sequence = beam(Schedule(following[1], schedule.pricer, schedule.allowance))
    return Found(sequence, bound, False)
