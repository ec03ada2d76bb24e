"""A plan: a set of events that suffices for a target. Routes are found by choosing plans, then ordering one exactly.

Every irreducible route does the events of some plan and nothing else, so the least cost over all plans is the least
cost. A plan starts from what every route must contain; where a cover can be cleared in several ways it grows by one of
them together with all that this makes necessary.
"""

from __future__ import annotations

from dataclasses import dataclass

from unfasten.routes.necessity import bits, necessary
from unfasten.routes.problem import Problem, Way


@dataclass(slots=True)
class Node:
    """What is known of a plan when a set of its events is done, whatever is in hand (see `Plan.node`).

    `anchors`: runs that can share neither a run with one another nor, but for `seated` of them, a stretch; their tools
    beyond the first; and the labels of those that the open run could take in.
    `runs`: (label, tools in it, runs still needed, runs needed if it is the open run); `picks`: (tool, pick-ups still
    needed, the same if it is in hand); `turns`: (side, changes of side still needed from it).
    """

    available: tuple[tuple[int, tuple[Way, ...]], ...]
    moves: int
    prepare_steps: int
    time: int
    special: int
    runs: tuple[tuple[int, int, int, int], ...]
    picks: tuple[tuple[int, int, int], ...]
    turns: tuple[tuple[int, int], ...]
    anchors: int
    seated: int
    surplus: int
    joining: frozenset[int]


DEAD = Node((), 0, 0, 0, 0, (), (), (), 0, 0, 0, frozenset())


class Plan:
    """The events of one plan with what must come before what, and bounds on what is left to do."""

    def __init__(self, problem: Problem, events: int) -> None:
        self.problem = problem
        self.events = events
        self.moves = (1 << problem.moves) - 1
        self.order = bits(events)
        self.before = necessary(problem, events)
        self.feasible = all(self.before[index] >= 0 for index in self.order)
        self.nodes: dict[int, Node] = {}
        self.ways: dict[int, tuple[Way, ...]] = {}
        self.plain: dict[int, Way | None] = {}
        if self.feasible:
            self._prepare()

    # chains ----------------------------------------------------------------------------------------------------

    def _prepare(self) -> None:
        for index in self.order:
            ways = self.problem.events[index].ways
            usable = tuple(w for w in ways if all(clause & self.events for clause in w.clauses))
            self.ways[index] = usable
            self.plain[index] = _plain(usable)
        self.order.sort(key=lambda i: (self.before[i].bit_count(), i))
        self.after = dict.fromkeys(self.order, 0)
        for index in self.order:
            for earlier in bits(self.before[index] & ~(1 << index)):
                self.after[earlier] |= 1 << index
        self.least = {i: _least(self.ways[i]) for i in self.order}
        self.tools = {i: _Tools.of(self.ways[i]) for i in self.order}
        self.droppers = [
            sum(1 << i for i in self.order if self.tools[i].drops >> tool & 1)
            for tool in range(len(self.problem.tools))
        ]
        self.label_tail = self._label_tails()
        self.pick_tail = self._pick_tails()
        self.side = {i: _common_side(self.ways[i]) for i in self.order}
        self.side_tail = self._side_tails()
        self.anchors = self._anchors()
        self.facts = self._facts()

    def _label_tails(self) -> dict[int, tuple[int, int]]:
        """Per event its label and the runs with that label still needed from it on, along what must follow."""
        tails: dict[int, tuple[int, int]] = {}
        for index in reversed(self.order):
            label = self.tools[index].label
            if not label:
                continue
            closing = self.after[index] | ((1 << index) & self.moves)
            best = 1
            for later in bits(self.after[index]):
                if self.tools[later].label == label:
                    between = closing & self.before[later] & self.moves & ~(1 << later)
                    best = max(best, tails[later][1] + bool(between))
            tails[index] = (label, best)
        return tails

    def _pick_tails(self) -> dict[int, tuple[tuple[int, int], ...]]:
        """Per event and tool it always uses: pick-ups of that tool still needed from it on."""
        tails: dict[int, dict[int, int]] = {}
        for index in reversed(self.order):
            mine = self.tools[index]
            own: dict[int, int] = {}
            for tool in bits(mine.uses):
                best = 1
                for later in bits(self.after[index]):
                    theirs = self.tools[later]
                    if theirs.uses >> tool & 1:
                        between = self.after[index] & self.before[later] & ~(1 << later)
                        kept = mine.ends >> tool & 1 and theirs.starts >> tool & 1 and not between & self.droppers[tool]
                        best = max(best, tails[later][tool] + (not kept))
                own[tool] = best
            tails[index] = own
        return {index: tuple(own.items()) for index, own in tails.items()}

    def _side_tails(self) -> dict[int, int]:
        tails: dict[int, int] = {}
        for index in reversed(self.order):
            if self.side[index]:
                later = [i for i in bits(self.after[index]) if self.side[i]]
                tails[index] = max((tails[i] + (self.side[i] != self.side[index]) for i in later), default=0)
        return tails

    def _anchors(self) -> tuple[tuple[int, int, int, int], ...]:
        """One longest chain of runs per label: (event bit, label, moves in whose stretch it can be, moves before it).

        No two of them can share a run. Of equal chains the one whose members fit in the fewest stretches.
        """
        seats = {index: self._seats(index) for index in self.label_tail}
        out = []
        for label in sorted({label for label, _ in self.label_tail.values()}):
            last: int | None = None
            members = [i for i in self.order if self.label_tail.get(i, (0, 0))[0] == label]
            for level in range(max(self.label_tail[i][1] for i in members), 0, -1):
                fitting = [i for i in members if self.label_tail[i][1] == level and self._parted(last, i)]
                if not fitting:
                    break
                last = min(fitting, key=lambda i: (seats[i].bit_count(), i))
                out.append((1 << last, label, seats[last], self.before[last] & self.moves & ~(1 << last)))
        return tuple(out)

    def _parted(self, earlier: int | None, later: int) -> bool:
        """Tell whether a move must come between two events (true for the first of a chain)."""
        if earlier is None:
            return True
        closing = self.after[earlier] | ((1 << earlier) & self.moves)
        return bool(closing & self.before[later] & self.moves & ~(1 << later))

    def _seats(self, index: int) -> int:
        """Moves in whose stretch the event can be done: not before it, and no move before them waits for it."""
        late = self.after[index] & self.moves
        own = (1 << index) & self.moves
        if own:
            return own
        return sum(
            1 << move
            for move in bits(self.events & self.moves & ~self.before[index])
            if not self.before[move] & ~(1 << move) & late
        )

    # nodes -----------------------------------------------------------------------------------------------------

    def node(self, done: int) -> Node:
        """Facts about a set of done events (memoised); `DEAD` where something left can no longer be done."""
        node = self.nodes.get(done)
        if node is None:
            node = self.nodes[done] = self._node(done)
        return node

    def _node(self, done: int) -> Node:
        available = []
        moves = self.moves
        prepare = time = special = count = 0
        runs: dict[int, tuple[int, int]] = {}
        picks: dict[int, tuple[int, int]] = {}
        turns: dict[int, int] = {}
        for fact in self.facts:
            if fact.bit & done:
                continue
            if fact.forbids & done:
                return DEAD
            left = fact.before & ~done
            if not left and not fact.needs & ~done:
                ready = fact.ways if fact.open else tuple(w for w in fact.ways if all(c & done for c in w.clauses))
                if ready:
                    available.append((fact.index, ready))
            count += fact.move
            time += fact.time
            special += fact.special
            prepare += fact.prepare
            if fact.label:
                tail = fact.label_tail
                joined = tail if left & moves else tail - 1
                most = runs.get(fact.label)
                if most is None:
                    runs[fact.label] = (tail, joined)
                elif tail > most[0] or joined > most[1]:
                    runs[fact.label] = (max(tail, most[0]), max(joined, most[1]))
            for tool, tail, starts, droppers in fact.picks:
                held = tail - 1 if starts and not left & droppers else tail
                most = picks.get(tool)
                if most is None:
                    picks[tool] = (tail, held)
                elif tail > most[0] or held > most[1]:
                    picks[tool] = (max(tail, most[0]), max(held, most[1]))
            if fact.side and turns.get(fact.side, -1) < fact.side_tail:
                turns[fact.side] = fact.side_tail
        if not available:
            return DEAD
        anchors = [anchor for anchor in self.anchors if not anchor[0] & done]
        return Node(
            tuple(available),
            count,
            prepare,
            time,
            special,
            tuple((label, label.bit_count(), a, b) for label, (a, b) in runs.items()),
            tuple((1 << tool, a, b) for tool, (a, b) in picks.items()),
            tuple(turns.items()),
            len(anchors),
            _matching([anchor[2] & ~done for anchor in anchors]),
            sum(anchor[1].bit_count() - 1 for anchor in anchors),
            frozenset(anchor[1] for anchor in anchors if not anchor[3] & ~done),
        )

    def _facts(self) -> tuple[_Fact, ...]:
        out = []
        for index in self.order:
            event, ways, tools = self.problem.events[index], self.ways[index], self.tools[index]
            label, label_tail = self.label_tail.get(index, (0, 0))
            picks = tuple(
                (tool, tail, bool(tools.starts >> tool & 1), self.droppers[tool])
                for tool, tail in self.pick_tail[index]
            )
            out.append(
                _Fact(
                    index,
                    1 << index,
                    int(index < self.problem.moves),
                    event.needs,
                    event.forbids,
                    self.before[index] & ~(1 << index),
                    ways,
                    not any(way.clauses for way in ways),
                    *self.least[index],
                    label,
                    label_tail,
                    picks,
                    self.side[index],
                    self.side_tail.get(index, 0),
                )
            )
        return tuple(out)


@dataclass(frozen=True, slots=True)
class _Fact:
    """What a node asks of one event: its masks, its least work, and how its chains go on."""

    index: int
    bit: int
    move: int
    needs: int
    forbids: int
    before: int
    ways: tuple[Way, ...]
    open: bool
    time: int
    special: int
    prepare: int
    label: int
    label_tail: int
    picks: tuple[tuple[int, int, bool, int], ...]
    side: int
    side_tail: int


@dataclass(frozen=True, slots=True)
class _Tools:
    """Label of all ways, if one; if they agree in tools: those used, in the first and last set used, and put down."""

    label: int
    uses: int
    starts: int
    ends: int
    drops: int

    @staticmethod
    def of(ways: tuple[Way, ...]) -> _Tools:
        label = ways[0].tools if all(way.tools == ways[0].tools for way in ways) else 0
        sets = _tool_sets(ways)
        uses = drops = 0
        for tools in sets:
            uses |= tools
            drops |= ~tools
        return _Tools(label, uses, sets[0] if sets else 0, sets[-1] if sets else 0, drops)


def _tool_sets(ways: tuple[Way, ...]) -> tuple[int, ...]:
    """Tool sets in order of use, bare hand left out, if all ways agree in them; else none."""
    found = {tuple(t for t in (*(p for p, _ in way.prepare), way.tools) if t) for way in ways}
    return next(iter(found)) if len(found) == 1 else ()


def _least(ways: tuple[Way, ...]) -> tuple[int, int, int]:
    """Least work time, special tools and preparation steps over the ways (each by itself)."""
    return (
        min(way.total for way in ways),
        min(way.special for way in ways),
        min(sum(max(1, p.bit_count()) for p, _ in way.prepare) for way in ways),
    )


def _plain(ways: tuple[Way, ...]) -> Way | None:
    """The way without preparation that no other beats in time or special tools, if it is the only such one."""
    time, special = min(way.total for way in ways), min(way.special for way in ways)
    found = [way for way in ways if not way.prepare and way.time == time and way.special == special]
    return found[0] if len(found) == 1 else None


def _common_side(ways: tuple[Way, ...]) -> int:
    side = ways[0].side
    return side if all(way.side == side for way in ways) else 0


def _matching(seats: list[int]) -> int:
    """Size of a largest matching of the rows to distinct bits of their masks (augmenting paths)."""
    taken: dict[int, int] = {}

    def place(row: int, tried: int) -> tuple[bool, int]:
        free = seats[row] & ~tried
        while free:
            bit = free & -free
            tried |= bit
            other = taken.get(bit)
            if other is None:
                taken[bit] = row
                return True, tried
            moved, tried = place(other, tried)
            if moved:
                taken[bit] = row
                return True, tried
            free = seats[row] & ~tried
        return False, tried

    return sum(place(row, 0)[0] for row in range(len(seats)))
