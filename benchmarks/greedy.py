"""A greedy route, as a careful person would find it: what seems cheapest to need, then always what is cheapest next.

The baseline of the benchmark; it proves nothing. It works on the events of the CP-SAT model, not of the search.
"""

from __future__ import annotations

import heapq
from collections.abc import Iterable, Mapping
from fractions import Fraction

from support.cpsat import START, Event, Key, State, Work, closure, effect, events_of, seconds
from unfasten.record.record import Record

Cost = tuple[Fraction, Fraction]
Choice = tuple[Work, frozenset[Key]]


def greedy(record: Record, target: str, by: str, real: bool) -> Cost | None:
    """(first, second) cost of the greedy route to a part of a folded record; None where it gets stuck."""
    goal = ("part", target)
    events = closure(events_of(record, real), goal)
    chosen = needed(choices(events), goal)
    if chosen is None:
        return None
    change, turn = seconds(record.setup.tool_change), seconds(record.setup.turn_over)
    steps, time = 0, Fraction(0)
    state: State = START
    side = "any"
    done: set[Key] = set()
    while goal not in done:
        best = None
        for key in legal(events, chosen, done):
            work = chosen[key][0]
            more, picked, after = effect(work, key[0] != "release", state)
            turned = "any" not in (side, work.side) and side != work.side
            spent = work.time + change * picked + turn * turned
            extra = spent - work.time
            rank = (more, extra, key) if by == "steps" else (extra, more, key)
            if best is None or rank < best[0]:
                best = (rank, key, more, spent, after)
        if best is None:
            return None
        _, key, more, spent, state = best
        steps, time = steps + more, time + spent
        side = side if chosen[key][0].side == "any" else chosen[key][0].side
        done.add(key)
    return (Fraction(steps), time) if by == "steps" else (time, Fraction(steps))


def choices(events: Mapping[Key, Event]) -> dict[Key, Choice]:
    """For each event the way, and the member of each clause, that are cheapest if nothing were shared."""
    settled: dict[Key, tuple[Fraction, Choice]] = {}
    queue: list[tuple[Fraction, Key, int]] = []
    asked = set(events)
    while True:
        for key in sorted(asked - settled.keys()):
            for number, work in enumerate(events[key].ways):
                members = _members(events[key], work, settled)
                if members is not None:
                    cost = 1 + work.time + sum(settled[member][0] for member in members)
                    heapq.heappush(queue, (cost, key, number))
        while queue and queue[0][1] in settled:
            heapq.heappop(queue)
        if not queue:
            return {key: choice for key, (_, choice) in settled.items()}
        cost, key, number = heapq.heappop(queue)
        work = events[key].ways[number]
        settled[key] = (cost, (work, _members(events[key], work, settled) or frozenset()))


def _members(event: Event, work: Work, settled: Mapping[Key, tuple[Fraction, Choice]]) -> frozenset[Key] | None:
    if not event.needs <= settled.keys():
        return None
    members = set(event.needs)
    for clause in work.under:
        known = [(settled[move][0], move) for move in clause if move in settled]
        if not known:
            return None
        if not clause & members:
            members.add(min(known)[1])
    return frozenset(members)


def needed(chosen: Mapping[Key, Choice], goal: Key) -> dict[Key, Choice] | None:
    """The choices that the goal comes to need; None if it cannot be reached."""
    if goal not in chosen:
        return None
    found: dict[Key, Choice] = {}
    stack = [goal]
    while stack:
        key = stack.pop()
        if key not in found:
            found[key] = chosen[key]
            stack += chosen[key][1]
    return found


def legal(events: Mapping[Key, Event], chosen: Mapping[Key, Choice], done: set[Key]) -> Iterable[Key]:
    """What is chosen, not done, and may be done now without shutting out what is still to come."""
    waiting = chosen.keys() - done
    barred = {move for key in waiting for move in events[key].before if key != move}
    for key in sorted(waiting - barred):
        if chosen[key][1] <= done and not events[key].before & done:
            yield key
