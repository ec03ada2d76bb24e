"""Exact search: plans in the order of their bounds, each ordered exactly, ties settled by name."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from unfasten.routes.allowance import Allowance, OutOfWorkError
from unfasten.routes.beam import beam
from unfasten.routes.canonical import first_in_order, keys
from unfasten.routes.plans import Plans
from unfasten.routes.price import START, Pricer
from unfasten.routes.relaxed import Outlook
from unfasten.routes.schedule import Schedule, Step


@dataclass(frozen=True, slots=True)
class Found:
    """A sequence; `bound` is a lower bound of the cost and equals it where `proven`."""

    sequence: tuple[Step, ...]
    bound: int
    proven: bool


def search(plans: Plans, pricer: Pricer, units: int, other: Found | None = None, *, ordered: bool = True) -> Found:
    """Find the canonical cheapest sequence to targets that are known to be reachable; any cheapest if not `ordered`.

    Spends at most about `units` of work on the proof, and as many again on the order among equals.
    `other` is what was found for the other objective, if it is known: where its cost that comes first here cannot be
    beaten, it is the answer here too, for then both costs are the least there are; else it limits the search.
    """
    allowance = Allowance(units)
    best = None if other is None else price(pricer, other.sequence)
    following = plans.pop()
    if other is not None and other.proven and best is not None:
        try:
            following = _cheaper(plans, pricer, allowance, best, following)
        except OutOfWorkError:
            return Found(other.sequence, following[0] if following else best, False)
        if following is None:
            return Found(other.sequence, best, True)
    tied: list[tuple[Schedule, tuple[Step, ...]]] = []
    while following is not None:
        bound, outlook = following
        if best is not None and bound > best:
            break
        schedule = Schedule(outlook, pricer, allowance)
        try:
            result = schedule.search(limit=best)
        except OutOfWorkError as out:
            low = max(out.bound, bound)
            at_hand = [sequence for _, sequence in tied[:1]] + ([] if other is None else [other.sequence])
            return _unproven(schedule, at_hand, low, plans, units)
        if result is not None:
            cost, sequence = result
            if best is None or cost < best:
                best, tied = cost, []
            tied.append((schedule, sequence))
        following = plans.pop()
    if best is None or not tied:
        raise AssertionError("a reachable target has a plan")
    return Found(_first(tied, best, plans.goal, units) if ordered else tied[0][1], best, True)


def price(pricer: Pricer, sequence: Iterable[Step]) -> int:
    """What a sequence costs."""
    total, state = 0, START
    for index, way in sequence:
        cost, state = pricer.apply(state, index, way)
        total += cost
    return total


def _cheaper(
    plans: Plans, pricer: Pricer, allowance: Allowance, best: int, following: tuple[int, Outlook] | None
) -> tuple[int, Outlook] | None:
    """The first plan, from `following` on, whose first cost can be below that of `best`; None if there is none."""
    least = best // pricer.first * pricer.first
    while following is not None and following[0] < least:
        if Schedule(following[1], pricer, allowance).first_within(START, least - 1):
            return following
        following = plans.pop()
    return None


def _first(tied: Iterable[tuple[Schedule, tuple[Step, ...]]], cost: int, goal: int, units: int) -> tuple[Step, ...]:
    """The first in order over the plans of equal cost; the first found if the allowance does not last."""
    found: list[tuple[Step, ...]] = []
    fallback: tuple[Step, ...] | None = None
    allowance = Allowance(units)
    for schedule, sequence in tied:
        fallback = fallback or sequence
        schedule.allowance = allowance
        try:
            one = first_in_order(schedule, cost, goal)
        except OutOfWorkError:
            one = sequence
        if one is not None:
            found.append(one)
    return min(found, key=keys) if found else fallback or ()


def _unproven(schedule: Schedule, at_hand: list[tuple[Step, ...]], low: int, plans: Plans, units: int) -> Found:
    """What is known when the allowance is used up: the best sequence at hand or that a beam finds, and a bound.

    `low` bounds the plan in hand; those before it hold nothing cheaper than what is at hand. Each other plan is asked
    whether it can do with less of the first cost, and if so what a beam finds there, with about twice as many `units`.
    """
    pricer, allowance = schedule.pricer, Allowance(2 * units)
    following: tuple[int, Outlook] | None = (low, schedule.outlook)
    lows: list[int] = []
    while following is not None:
        bound, outlook = following
        one = beam(Schedule(outlook, pricer, allowance))
        at_hand += [] if one is None else [one]
        better = outlook.bound(START, pricer)
        lows += [] if better is None else [max(bound, better)]
        following = plans.pop()
        if not at_hand:
            continue
        cost = min(price(pricer, sequence) for sequence in at_hand)
        lows.append(cost // pricer.first * pricer.first)
        try:
            following = _cheaper(plans, pricer, allowance, cost, following)
        except OutOfWorkError:
            lows += [following[0]] if following else []
            break
    if not at_hand:
        raise AssertionError("a reachable target has a plan")
    best = min(at_hand, key=lambda sequence: price(pricer, sequence))
    return Found(best, min(*lows, price(pricer, best)), False)
