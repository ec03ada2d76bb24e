"""A straightforward CP-SAT model of one target in one world: a second, independent exact solver for the cross-check.

Written from the words of the model, not from the search. One node per way of an event; a circuit through the nodes that
happen; every node knows what is in hand, which run is open and which side is up before it. Needs `ortools`, which only
tests and benchmarks use.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from itertools import product
from time import process_time

from ortools.sat.python import cp_model

from unfasten.record.log import Lifted, Released, Swung
from unfasten.record.part import Lift
from unfasten.record.record import Record

Key = tuple[str, str]  # ("release", joint), ("part", part), ("bundle", bundle) or ("swing", swing)
Hand = frozenset[str]
SHUT, OPEN, PREPARED = "shut", "open", "prepared"  # no run yet, a run with what is in hand, a preparation was last
State = tuple[Hand, str]
START: State = (frozenset(), SHUT)


@dataclass(frozen=True)
class Work:
    """One way of an event: `under` is a list of sets of moves of which one must have happened before, in each set."""

    number: int
    under: tuple[frozenset[Key], ...]
    prepare: tuple[Hand, ...]
    tools: Hand
    side: str
    time: Fraction


@dataclass(frozen=True)
class Event:
    """Something that may happen once: after all of `needs`, and before those of `before` that happen too."""

    needs: frozenset[Key]
    before: frozenset[Key]
    ways: tuple[Work, ...]


@dataclass(frozen=True)
class Answer:
    """What CP-SAT found. `first` is None if it found nothing, which with `proven` means that there is no route.

    `seconds` is the processor time of the solver, without building the model.
    """

    proven: bool
    first: Fraction | None = None
    second: Fraction | None = None
    route: tuple[tuple[str, str, int], ...] = ()
    events: int = 0
    seconds: float = 0.0


def events_of(record: Record, real: bool) -> dict[Key, Event]:
    """Every event of a folded record; `real`: every unknown cover is one."""
    out: dict[Key, Event] = {}
    for name, joint in record.joints.items():
        own = frozenset(joint.holds)
        ways = []
        for number, way in enumerate(joint.ways):
            each = joint.count if way.time is not None and way.time.each else 1
            open_covers = _unknown(record, ("release", name), own, way, way.under) if real else ()
            clauses = [_clearing(record, cover, own, name) for cover in (*way.under, *open_covers)]
            time = seconds(way.time) * each + sum(seconds(p.time) for p in way.prepare)
            prepare = tuple(frozenset(p.tools) for p in way.prepare)
            ways.append(Work(number, tuple(clauses), prepare, frozenset(way.tools), way.side, time))
        out["release", name] = Event(frozenset(), frozenset(), tuple(ways))
    for name, part in record.parts.items():
        if not part.stays:
            out["part", name] = _move(record, ("part", name), frozenset({name}), part.lift or Lift(), real)
    for name, bundle in record.bundles.items():
        out["bundle", name] = _move(record, ("bundle", name), frozenset(bundle.parts), bundle.lift, real)
    for name, swing in record.swings.items():
        out["swing", name] = _move(record, ("swing", name), frozenset({swing.part}), swing.lift, real=False)
    return out


def seconds(time: object) -> Fraction:
    """A time of the record [s]; none is 0 s."""
    return Fraction(getattr(time, "si", 0))


def _groups(record: Record) -> Iterator[tuple[Key, frozenset[str]]]:
    """Every lift with the parts that come out by it."""
    yield from ((("part", name), frozenset({name})) for name, part in record.parts.items() if not part.stays)
    yield from ((("bundle", name), frozenset(bundle.parts)) for name, bundle in record.bundles.items())


def _move(record: Record, key: Key, own: frozenset[str], lift: Lift, real: bool) -> Event:
    kind, name = key
    keeps = record.swings[name].keeps if kind == "swing" else ()
    alone = kind != "bundle"
    needs = {
        ("release", j)
        for j, joint in record.joints.items()
        if j not in keeps and own & set(joint.holds) and (alone or set(joint.holds) - own)
    }
    before: set[Key] = set()
    if kind == "bundle":  # all in one piece: no part has left that piece but with a larger bundle
        before = {move for move, parts in _groups(record) if move != key and parts & own and not parts > own}
    elif kind == "swing":  # still in the product
        before = {move for move, parts in _groups(record) if parts & own}
    open_covers = _unknown(record, key, own, lift, lift.behind) if real else ()
    clauses = [
        _clearing(record, cover, own, name if kind != "swing" else None) for cover in (*lift.behind, *open_covers)
    ]
    work = Work(-1, tuple(clauses), (), frozenset(lift.tools), lift.side, seconds(lift.time))
    return Event(frozenset(needs), frozenset(before), (work,))


def _clearing(record: Record, cover: Iterable[str], own: frozenset[str], what: str | None) -> frozenset[Key]:
    """Moves of which any puts one of `cover` and the piece of `own` into different pieces, or swings it aside."""
    out: set[Key] = set()
    for part in cover:
        for move, parts in _groups(record):
            if (part in parts) != bool(parts & own) and (own <= parts or not own & parts):
                out.add(move)
        for name, swing in record.swings.items():
            if swing.part == part and what not in swing.still_covers:
                out.add(("swing", name))
    return frozenset(out)


def _unknown(
    record: Record, key: Key, own: frozenset[str], surveyed: object, listed: Iterable[Iterable[str]]
) -> tuple[tuple[str], ...]:
    """Parts that were out of the way when the log came to `key`, and of which nothing is said."""
    if (getattr(surveyed, "survey", None) or record.setup.survey) != "partial":
        return ()
    gone: dict[str, None] = {}
    for entry in record.log:
        if isinstance(entry, Released) and key == ("release", entry.joint):
            break
        if isinstance(entry, Lifted):
            if key in (("part", entry.part), ("bundle", entry.bundle)):
                break
            gone |= dict.fromkeys((entry.part,) if entry.part else record.bundles[entry.bundle or ""].parts)
        if isinstance(entry, Swung):
            gone[record.swings[entry.swing].part] = None
    else:
        return ()
    known = {*own, *getattr(surveyed, "clear_of", ()), *(part for cover in listed for part in cover)}
    return tuple((part,) for part in gone if part not in known)


def closure(events: Mapping[Key, Event], target: Key) -> dict[Key, Event]:
    """Events that may be of use for the target."""
    found: set[Key] = set()
    stack = [target]
    while stack:
        key = stack.pop()
        if key not in found:
            found.add(key)
            stack += events[key].needs
            stack += [move for way in events[key].ways for clause in way.under for move in clause]
    return {key: event for key, event in events.items() if key in found}


def effect(work: Work, lifts: bool, state: State) -> tuple[int, int, State]:
    """Steps and tools picked up by one way in a state of hand and run, and the state afterwards."""
    hand, run = state
    steps = picked = 0
    for tools in work.prepare:
        steps += max(1, len(tools))
        picked += len(tools - hand)
        hand, run = tools or hand, PREPARED
    if work.tools:
        if (hand, run) != (work.tools, OPEN):
            steps += len(work.tools)
        picked += len(work.tools - hand)
        hand, run = work.tools, OPEN
    if lifts:
        steps += run != OPEN
        run = SHUT
    return steps, picked, (hand, run)


def cheapest(record: Record, target: str, by: str, real: bool, limit: float, wall: bool = False) -> Answer:
    """The least (first, second) cost of a route to a part of a folded record.

    `limit` is in CP-SAT's deterministic units, or in seconds if `wall`.
    """
    events = closure(events_of(record, real), ("part", target))
    circuit = Circuit(record, events, ("part", target), by)
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = 1
    if wall:
        solver.parameters.max_time_in_seconds = limit
    else:
        solver.parameters.max_deterministic_time = limit
    began = process_time()
    status = solver.solve(circuit.model)
    taken = process_time() - began
    if status == cp_model.INFEASIBLE:
        return Answer(True, events=len(events), seconds=taken)
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return Answer(False, events=len(events), seconds=taken)
    steps, time = solver.value(circuit.steps), solver.value(circuit.time) * circuit.unit
    pair = (Fraction(steps), time) if by == "steps" else (time, Fraction(steps))
    return Answer(status == cp_model.OPTIMAL, *pair, circuit.route(solver), len(events), taken)


class Circuit:
    """The model: `steps` and `time` (in `unit` seconds) of the circuit that ends with the target."""

    def __init__(self, record: Record, events: dict[Key, Event], target: Key, by: str) -> None:
        self.model = cp_model.CpModel()
        self.events = events
        self.setup = record.setup
        times = [work.time for event in events.values() for work in event.ways]
        changes = [seconds(record.setup.tool_change), seconds(record.setup.turn_over)]
        self.unit = Fraction(1, math.lcm(*(t.denominator for t in (*times, *changes))))
        self.nodes = [(key, work) for key, event in events.items() for work in event.ways]
        self.present = [self.model.new_bool_var(f"{key} {work.number}") for key, work in self.nodes]
        self.happens: dict[Key, cp_model.IntVar] = {}
        self.rank: dict[Key, cp_model.IntVar] = {}
        for key in events:
            self.happens[key] = self.model.new_bool_var(f"{key}")
            self.rank[key] = self.model.new_int_var(1, len(events), f"rank {key}")
            self.model.add(sum(self._of(key)) == self.happens[key])
        self.model.add(self.happens[target] == 1)
        self.arcs: dict[tuple[int, int], cp_model.IntVar] = {}
        self._order()
        self._circuit(target)
        self._states()
        self._sides()
        self._goal(by)

    def route(self, solver: cp_model.CpSolver) -> tuple[tuple[str, str, int], ...]:
        """What happens, in order: kind, id and number of the way."""
        chosen = [i for i, present in enumerate(self.present) if solver.value(present)]
        chosen.sort(key=lambda i: solver.value(self.rank[self.nodes[i][0]]))
        return tuple((*self.nodes[i][0], self.nodes[i][1].number) for i in chosen)

    def _of(self, key: Key) -> list[cp_model.IntVar]:
        return [self.present[i] for i, (other, _) in enumerate(self.nodes) if other == key]

    def _order(self) -> None:
        """Needs, covers, and what must come before what."""
        add, happens, rank = self.model.add, self.happens, self.rank
        for key, event in self.events.items():
            for need in event.needs:
                self.model.add_implication(happens[key], happens[need])
                add(rank[need] + 1 <= rank[key]).only_enforce_if(happens[key])
            for later in event.before & self.events.keys():
                add(rank[key] + 1 <= rank[later]).only_enforce_if(happens[key], happens[later])
        for (key, work), present in zip(self.nodes, self.present, strict=True):
            for clause in work.under:
                chosen = []
                for move in sorted(clause - {key}):
                    literal = self.model.new_bool_var(f"{move} for {key}")
                    self.model.add_implication(literal, happens[move])
                    add(rank[move] + 1 <= rank[key]).only_enforce_if(literal)
                    chosen.append(literal)
                self.model.add_bool_or([*chosen, present.negated()])

    def _circuit(self, target: Key) -> None:
        """Arcs between nodes (0 is the start, and the end behind the target); a loop is a node that does not happen."""
        before = self._certain()
        arcs: list[tuple[int, int, cp_model.LiteralT]] = []
        for i, (key, _) in enumerate(self.nodes):
            arcs.append((i + 1, i + 1, self.present[i].negated()))
            self.arcs[-1, i] = self.model.new_bool_var(f"start {i}")
            arcs.append((0, i + 1, self.arcs[-1, i]))
            if key == target:
                arcs.append((i + 1, 0, self.present[i]))
                continue
            for j, (other, _) in enumerate(self.nodes):
                if other != key and other not in before[key] and not self._between(before, key, other):
                    self.arcs[i, j] = arc = self.model.new_bool_var(f"{i} to {j}")
                    arcs.append((i + 1, j + 1, arc))
                    self.model.add(self.rank[other] == self.rank[key] + 1).only_enforce_if(arc)
        self.model.add_circuit(arcs)

    def _between(self, before: dict[Key, set[Key]], one: Key, two: Key) -> bool:
        """Tell whether something must come between: then there is no arc."""
        return one in before[two] and any(one in before[key] for key in before[two])

    def _certain(self) -> dict[Key, set[Key]]:
        """For each event those that must come before it if it happens: needs, and covers with one clearing move."""
        before = {key: set(event.needs) for key, event in self.events.items()}
        for key, event in self.events.items():
            sole = [{m for clause in work.under if len(clause) == 1 for m in clause} for work in event.ways]
            before[key] |= set.intersection(*sole) if sole else set()
        changed = True
        while changed:
            changed = False
            for earlier in before.values():
                more = set().union(*(before[key] for key in earlier)) - earlier
                changed |= bool(more)
                earlier |= more
        return before

    def _carry(
        self, before: list[dict[object, cp_model.IntVar]], after: list[dict[object, object]], start: object
    ) -> None:
        """Along every arc the state after one node is the state before the next; `after[i]` maps before to after."""
        into: dict[tuple[int, object], list[cp_model.IntVar]] = {}
        for (i, j), arc in self.arcs.items():
            results = {start} if i < 0 else set(after[i].values())
            if len(results) == 1:
                into.setdefault((j, results.pop()), []).append(arc)
                continue
            for state, literal in before[i].items():
                self.model.add_bool_or(arc.negated(), literal.negated(), before[j][after[i][state]])
        for (j, state), arcs in into.items():
            self.model.add(sum(arcs) <= before[j][state])

    def _before(self, states: Iterable[object]) -> list[dict[object, cp_model.IntVar]]:
        """For each node that happens, which of the states stands before it."""
        out = []
        every = list(states)
        for i, present in enumerate(self.present):
            literals: dict[object, cp_model.IntVar] = {s: self.model.new_bool_var(f"{s} before {i}") for s in every}
            self.model.add(sum(literals.values()) == present)
            out.append(literals)
        return out

    def _states(self) -> None:
        """Hand and run: steps and pick-ups of every node in every state."""
        hands = {frozenset[str]()} | {tools for _, work in self.nodes for tools in (*work.prepare, work.tools) if tools}
        states = list(product(sorted(hands, key=sorted), (SHUT, OPEN, PREPARED)))
        before = self._before(states)
        after: list[dict[object, object]] = []
        steps, picks = [], []
        for (key, work), literals in zip(self.nodes, before, strict=True):
            effects = {state: effect(work, key[0] != "release", state) for state in states}
            after.append({state: result for state, (_, _, result) in effects.items()})
            steps += [count * literals[state] for state, (count, _, _) in effects.items()]
            picks += [count * literals[state] for state, (_, count, _) in effects.items()]
        self._carry(before, after, START)
        self.steps = sum(steps)
        self.picks = sum(picks)

    def _sides(self) -> None:
        """Which side is up, and every change of it."""
        sides = ["any", *sorted({work.side for _, work in self.nodes} - {"any"})]
        before = self._before(sides)
        after = [{side: side if work.side == "any" else work.side for side in sides} for _, work in self.nodes]
        self._carry(before, [dict(one) for one in after], "any")
        self.turns = sum(
            literal
            for (_, work), literals in zip(self.nodes, before, strict=True)
            for side, literal in literals.items()
            if "any" not in (side, work.side) and side != work.side
        )

    def _goal(self, by: str) -> None:
        """First cost, then second, as one weighted sum; the weight exceeds every possible second cost."""
        change, turn = (int(seconds(q) / self.unit) for q in (self.setup.tool_change, self.setup.turn_over))
        work = sum(int(w.time / self.unit) * p for (_, w), p in zip(self.nodes, self.present, strict=True))
        self.time = work + change * self.picks + turn * self.turns
        most = {"steps": 1, "time": 1}
        for _, w in self.nodes:
            tools = sum(len(t) for t in (*w.prepare, w.tools))
            most["steps"] += tools + len(w.prepare) + 1
            most["time"] += int(w.time / self.unit) + change * tools + turn
        if by == "steps":
            self.model.minimize(most["time"] * self.steps + self.time)
        else:
            self.model.minimize(most["steps"] * self.time + self.steps)
