"""What every legal sequence containing an event must contain before it, and whether a part can be reached at all."""

from __future__ import annotations

from unfasten.routes.problem import Event, Problem


def bits(mask: int) -> list[int]:
    """Indexes of the bits set in a mask, lowest first."""
    out = []
    while mask:
        low = mask & -mask
        out.append(low.bit_length() - 1)
        mask ^= low
    return out


def necessary(problem: Problem, within: int | None = None, *, whole: bool = False) -> list[int]:
    """For every event the events that each legal sequence with it contains before it (with itself); -1 if none.

    Greatest solution of: an event needs itself, the necessary events of its releases, and for each clause what all its
    members have in common; a joint needs what all its ways have in common. Sound by induction along any sequence.
    `within` restricts the events that may happen at all; if they all happen (`whole`), what rules an event out comes
    after it.
    """
    events = problem.events
    allowed = (1 << len(events)) - 1 if within is None else within
    table = [-1] * len(events)
    users: list[list[int]] = [[] for _ in events]
    chosen = bits(allowed)
    first = _ruled_out(events, chosen, allowed) if whole else {}
    for index in chosen:
        relevant = events[index].needs | first.get(index, 0)
        for way in events[index].ways:
            for clause in way.clauses:
                relevant |= clause
        for before in bits(relevant & allowed):
            users[before].append(index)
    queue, queued = chosen[::-1], set(chosen)
    while queue:
        index = queue.pop()
        queued.discard(index)
        new = _necessary_of(events[index], table, allowed) | (1 << index)
        for before in bits(first.get(index, 0)):
            new |= table[before]
        if new != table[index]:
            table[index] = new
            for user in users[index]:
                if user not in queued:
                    queued.add(user)
                    queue.append(user)
    return table


def _ruled_out(events: tuple[Event, ...], chosen: list[int], allowed: int) -> dict[int, int]:
    """For each event those that are no longer possible after it."""
    out: dict[int, int] = {}
    for index in chosen:
        for later in bits(events[index].forbids & allowed):
            out[later] = out.get(later, 0) | 1 << index
    return out


def _necessary_of(event: Event, table: list[int], allowed: int) -> int:
    if event.needs & ~allowed:
        return -1
    total = 0
    for before in bits(event.needs):
        total |= table[before]
    common = -1
    for way in event.ways:
        of_way = 0
        for clause in way.clauses:
            of_clause = -1
            clause &= allowed
            while clause:
                low = clause & -clause
                of_clause &= table[low.bit_length() - 1]
                clause ^= low
            of_way |= of_clause
        common &= of_way
    return total | common


def relevant(problem: Problem, table: list[int], target: int) -> int:
    """Events that can matter to the target: the backward closure over everything that can happen at all."""
    seen, todo = 0, 1 << target
    while todo:
        index = (todo & -todo).bit_length() - 1
        todo &= todo - 1
        seen |= 1 << index
        event = problem.events[index]
        more = event.needs
        for way in event.ways:
            for clause in way.clauses:
                more |= clause
        for before in bits(more & ~seen & ~todo):
            if table[before] >= 0:
                todo |= 1 << before
    return seen


def reachable(problem: Problem, table: list[int], targets: tuple[int, ...], pool: int) -> bool:
    """Tell whether all targets can be lifted at all, by the events of `pool`, which are all that can matter.

    Exact: only moves that rule others out are tried both ways.
    """
    goal = 0
    for target in targets:
        if table[target] < 0:
            return False
        goal |= 1 << target
    harmful = 0
    for index in bits(pool & ((1 << problem.moves) - 1)):
        harmful |= problem.events[index].forbids
    harmful &= pool
    return not harmful or _reach(problem, pool, harmful, goal, 0, set())


def _reach(problem: Problem, pool: int, harmful: int, goal: int, done: int, tried: set[int]) -> bool:
    done = _do_all(problem, pool & ~harmful, done)
    if goal & ~done == 0:
        return True
    if done in tried:
        return False
    tried.add(done)
    for index in bits(harmful & ~done):
        if _legal(problem, index, done) and _reach(problem, pool, harmful, goal, done | 1 << index, tried):
            return True
    return False


def _do_all(problem: Problem, pool: int, done: int) -> int:
    """Do every event of `pool` that is legal, again and again."""
    pending, before = bits(pool & ~done), -1
    while before != done:
        before = done
        for index in pending:
            if not done >> index & 1 and _legal(problem, index, done):
                done |= 1 << index
    return done


def _legal(problem: Problem, index: int, done: int) -> bool:
    event = problem.events[index]
    if event.needs & ~done or event.forbids & done:
        return False
    return any(all(clause & done for clause in way.clauses) for way in event.ways)
