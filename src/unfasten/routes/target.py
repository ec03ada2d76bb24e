"""One target's share of a problem: what can matter to it, what every route to it must contain, and bounds from that."""

from __future__ import annotations

from dataclasses import dataclass

from unfasten.routes.problem import Event, Problem, Way


def bits(mask: int) -> list[int]:
    """Indexes of the bits set in a mask, lowest first."""
    out = []
    while mask:
        low = mask & -mask
        out.append(low.bit_length() - 1)
        mask ^= low
    return out


def necessary(problem: Problem) -> list[int]:
    """For every event the events that each legal sequence containing it contains before it (with itself); -1 if none.

    Greatest solution of: an event needs itself, the necessary events of its releases, and for each clause what all its
    members have in common; a joint needs what all its ways have in common. Sound by induction along any sequence.
    """
    events = problem.events
    everything = -1
    table = [everything] * len(events)
    users: list[list[int]] = [[] for _ in events]
    for index, event in enumerate(events):
        relevant = event.needs
        for way in event.ways:
            for clause in way.clauses:
                relevant |= clause
        for before in bits(relevant):
            users[before].append(index)
    queue, queued = list(range(len(events))), [True] * len(events)
    while queue:
        index = queue.pop()
        queued[index] = False
        new = _necessary_of(events[index], table) | (1 << index)
        if new != table[index]:
            table[index] = new
            for user in users[index]:
                if not queued[user]:
                    queued[user] = True
                    queue.append(user)
    return table


def _necessary_of(event: Event, table: list[int]) -> int:
    total = 0
    for before in bits(event.needs):
        total |= table[before]
    common = -1
    for way in event.ways:
        of_way = 0
        for clause in way.clauses:
            of_clause = -1
            for member in bits(clause):
                of_clause &= table[member]
            of_way |= of_clause
        common &= of_way
    return total | common


@dataclass(slots=True)
class Node:
    """What is known of a set of done events, whatever is in hand: see `TargetView.node`."""

    dead: bool
    useful: int
    committed: int
    available: list[tuple[int, int, tuple[Way, ...]]]  # event index, 1 if committed, usable ways
    moves: int
    prepare_steps: int
    time: int
    special: int
    labels: tuple[int, ...]
    tools: int
    sides: int


class TargetView:
    """The part of a problem that can matter to one target, with memoised facts about sets of done events."""

    def __init__(self, problem: Problem, table: list[int], target: int) -> None:
        self.problem = problem
        self.target = target
        self.goal = 1 << target
        self.table = table
        self.reachable = sum(1 << i for i, need in enumerate(table) if need >= 0)
        self.move_mask = (1 << problem.moves) - 1
        self.nodes: dict[int, Node] = {}
        self.ways: dict[int, tuple[Way, ...]] = {}
        self.plain: dict[int, tuple[Way, ...]] = {}
        self.wanted: dict[int, int] = {}
        self.clause_needs: dict[int, int] = {}

    def usable(self, index: int) -> tuple[Way, ...]:
        """Ways of an event of which every clause can be met at all."""
        found = self.ways.get(index)
        if found is None:
            ways = self.problem.events[index].ways
            found = tuple(way for way in ways if all(clause & self.reachable for clause in way.clauses))
            self.ways[index] = found
        return found

    def plain_ways(self, index: int) -> tuple[Way, ...]:
        """Ways of a release without preparation that no other usable way beats in time or special tools."""
        found = self.plain.get(index)
        if found is None:
            ways = self.usable(index)
            time, special = min(way.total for way in ways), min(way.special for way in ways)
            found = tuple(w for w in ways if not w.prepare and w.time == time and w.special == special)
            self.plain[index] = found
        return found

    def wanted_by_later(self, done: int) -> int:
        """Done events without which something that may still be of use would lack a requirement (memoised)."""
        found = self.wanted.get(done)
        if found is None:
            found = 0
            for index in bits(self.node(done).useful):
                found |= self.problem.events[index].needs & done
                for way in self.usable(index):
                    for clause in way.clauses:
                        hit = clause & done
                        if hit and not hit & (hit - 1):
                            found |= hit
            self.wanted[done] = found
        return found

    def node(self, done: int) -> Node:
        """Facts about a set of done events (memoised)."""
        node = self.nodes.get(done)
        if node is None:
            node = self.nodes[done] = self._node(done)
        return node

    def _open_clause(self, clause: int, done: int) -> int:
        """Members of a clause that may still happen; 0 where none can (a dead end for its owner)."""
        clause &= self.reachable
        for member in bits(clause):
            if self.problem.events[member].forbids & done:
                clause ^= 1 << member
        return clause

    def _needs_of_clause(self, clause: int) -> int:
        found = self.clause_needs.get(clause)
        if found is None:
            found = -1
            for member in bits(clause):
                found &= self.table[member]
            self.clause_needs[clause] = found
        return found

    def _node(self, done: int) -> Node:
        events = self.problem.events
        committed, dead, todo = 0, False, self.table[self.target] & ~done
        useful, available, later = 0, [], self.goal & ~done
        open_ways: dict[int, list[tuple[Way, list[int]]]] = {}

        def expand(index: int) -> list[tuple[Way, list[int]]] | None:
            """Usable ways with their open clauses; None if the event can no longer happen."""
            event = events[index]
            if event.forbids & done:
                return None
            ways = []
            for way in self.usable(index):
                clauses = [self._open_clause(c, done) for c in way.clauses if not c & done]
                if all(clauses):
                    ways.append((way, clauses))
            return ways or None

        while todo:  # what every completion must contain
            index = (todo & -todo).bit_length() - 1
            todo &= todo - 1
            committed |= 1 << index
            ways = open_ways[index] = expand(index) or []
            if not ways:
                dead = True
                break
            more = events[index].needs
            common = -1
            for _, clauses in ways:
                of_way = 0
                for clause in clauses:
                    of_way |= self._needs_of_clause(clause)
                common &= of_way
                if not common:
                    break
            more |= common
            for before in bits(more & ~done & ~committed):
                todo |= self.table[before] & ~done & ~committed
        if dead:
            return Node(True, 0, 0, [], 0, 0, 0, 0, (), 0, 0)

        while later:  # what may still be of use
            index = (later & -later).bit_length() - 1
            later &= later - 1
            useful |= 1 << index
            found = open_ways.get(index)
            ways = found if found is not None else (expand(index) or [])
            event = events[index]
            pending = event.needs & ~done
            ready = tuple(way for way, clauses in ways if not clauses)
            if ready and not pending:
                available.append((index, int(bool(committed >> index & 1)), ready))
            for _, clauses in ways:
                for clause in clauses:
                    pending |= clause
            later |= pending & self.reachable & ~useful
        available.sort()
        return self._bounded(useful, committed, available, open_ways)

    def _bounded(
        self,
        useful: int,
        committed: int,
        available: list[tuple[int, int, tuple[Way, ...]]],
        open_ways: dict[int, list[tuple[Way, list[int]]]],
    ) -> Node:
        moves = (committed & self.move_mask).bit_count()
        prepare = time = special = tools = sides = 0
        labels = set()
        for index in bits(committed):
            ways = [way for way, _ in open_ways[index]]
            if len(ways) == 1:
                (way,) = ways
                time += way.total
                special += way.special
                prepare += sum(max(1, p.bit_count()) for p, _ in way.prepare)
                tools |= way.tools
                for p, _ in way.prepare:
                    tools |= p
                sides |= (1 << way.side) & ~1
                if way.tools:
                    labels.add(way.tools)
                continue
            time += min(way.total for way in ways)
            special += min(way.special for way in ways)
            prepare += min(sum(max(1, p.bit_count()) for p, _ in way.prepare) for way in ways)
            first = ways[0]
            if first.tools and all(way.tools == first.tools for way in ways):
                labels.add(first.tools)
            shared = -1
            for way in ways:
                of_way = way.tools
                for p, _ in way.prepare:
                    of_way |= p
                shared &= of_way
            tools |= shared
            if first.side and all(way.side == first.side for way in ways):
                sides |= 1 << first.side
        return Node(
            False, useful, committed, available, moves, prepare, time, special, tuple(sorted(labels)), tools, sides
        )
