"""Lower bounds on what is left of a plan, from what must follow what: runs, tool pick-ups and turns along chains."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from unfasten.routes.necessity import bits
from unfasten.routes.plan import Plan
from unfasten.routes.problem import Way

#: chains of one kind: (events with the longest rest, its length), longest first
Levels = tuple[tuple[int, int], ...]


class Chains:
    """Bounds for one plan; what must come before or after an event is looked at once, the rest only in masks."""

    def __init__(self, plan: Plan) -> None:
        self.plan = plan
        self.moves = plan.moves
        self.before = plan.before
        self.change = plan.problem.change
        self.turn = plan.problem.turn
        tools = {index: _Tools.of(plan.ways[index]) for index in plan.order}
        self.starting = [0] * len(plan.problem.tools)
        self.dropping = [0] * len(plan.problem.tools)
        for index, mine in tools.items():
            for tool in range(len(self.dropping)):
                self.dropping[tool] |= (mine.drops >> tool & 1) << index
                self.starting[tool] |= (mine.starts >> tool & 1) << index
        tails = _label_tails(plan, tools)
        self.runs = [(label, label.bit_count(), _levels(of)) for label, of in _by_key(tails).items()]
        self.level_of = {label: levels for label, _, levels in self.runs}
        self.picks = [(tool, _levels(of)) for tool, of in _by_key(_pick_tails(plan, tools, self.dropping)).items()]
        self.turns = [(side, _levels(of)) for side, of in _by_key(_side_tails(plan)).items()]
        self.anchors = _anchors(plan, tails)

    # steps -----------------------------------------------------------------------------------------------------

    def steps(self, left: int, run: int) -> int:
        """Runs and lifts that the events `left` still cost if `run` is open, preparations left out.

        The larger of two: runs along chains of one label each; and the stretches that are left with those runs of the
        chains that find no stretch of their own.
        """
        total = 0
        for label, width, levels in self.runs:
            for mask, length in levels:
                if mask & left:
                    total += width * (length - (label == run and self._joins(mask & left, left)))
                    break
        anchors = [anchor for anchor in self.anchors if anchor[0] & left]
        count = len(anchors)
        surplus = 0
        if run and any(label == run and not before & left for _, label, _, before in anchors):
            count -= 1
        else:
            surplus = sum(label.bit_count() - 1 for _, label, _, _ in anchors)
        stretches = (left & self.moves).bit_count() - (run > 0)
        seated = _matching([anchor[2] & left for anchor in anchors], stretches) if count > 0 else 0
        crowded = count - seated
        other = stretches + (crowded if crowded > 0 else 0) + surplus
        return total if total > other else other

    def _joins(self, longest: int, left: int) -> bool:
        """Whether the open run can take in the first of every longest chain: no move comes before any of them."""
        moves = left & self.moves
        while longest:
            low = longest & -longest
            if self.before[low.bit_length() - 1] & ~low & moves:
                return False
            longest ^= low
        return True

    # time ------------------------------------------------------------------------------------------------------

    def set_up(self, left: int, hand: int, side: int) -> int:
        """Time for pick-ups and turns for the events `left`, with these tools in hand and this side up."""
        count = 0
        for tool, levels in self.picks:
            for mask, length in levels:
                if mask & left:
                    count += length - (hand >> tool & 1 and self._kept(tool, mask & left, left))
                    break
        time = self.change * count
        if self.turns:
            time += self.turn * self._turning(left, side)
        return time

    def _kept(self, tool: int, longest: int, left: int) -> bool:
        """Whether the tool in hand can stay there for the first of every longest chain."""
        if longest & ~self.starting[tool]:
            return False
        dropping = left & self.dropping[tool]
        while longest:
            low = longest & -longest
            if self.before[low.bit_length() - 1] & ~low & dropping:
                return False
            longest ^= low
        return True

    def _turning(self, left: int, side: int) -> int:
        chain = kinds = 0
        for which, levels in self.turns:
            for mask, length in levels:
                if mask & left:
                    kinds += 1
                    turned = which != side and side != 0
                    chain = max(chain, length + turned)
                    kinds -= which == side
                    break
        return max(chain, kinds - (side == 0 and kinds > 0))


def _by_key(tails: Mapping[int, Mapping[int, int]]) -> dict[int, dict[int, int]]:
    """Event -> key -> length, the other way round: key -> event -> length."""
    out: dict[int, dict[int, int]] = {}
    for index, own in tails.items():
        for key, length in own.items():
            out.setdefault(key, {})[index] = length
    return dict(sorted(out.items()))


def _levels(lengths: Mapping[int, int]) -> Levels:
    masks: dict[int, int] = {}
    for index, length in lengths.items():
        masks[length] = masks.get(length, 0) | 1 << index
    return tuple((masks[length], length) for length in sorted(masks, reverse=True))


def _label_tails(plan: Plan, tools: Mapping[int, _Tools]) -> dict[int, dict[int, int]]:
    """Per event its label and the runs with that label still needed from it on, along what must follow."""
    tails: dict[int, dict[int, int]] = {}
    found: dict[int, int] = {}
    for index in reversed(plan.order):
        label = tools[index].label
        if not label:
            continue
        closing = (plan.after[index] | 1 << index) & plan.moves
        best = 1
        for later in bits(plan.after[index] & found.get(label, 0)):
            between = closing & plan.before[later] & ~(1 << later)
            best = max(best, tails[later][label] + bool(between))
        found[label] = found.get(label, 0) | 1 << index
        tails[index] = {label: best}
    return tails


def _pick_tails(plan: Plan, tools: Mapping[int, _Tools], dropping: list[int]) -> dict[int, dict[int, int]]:
    """Per event and tool it always uses: pick-ups of that tool still needed from it on."""
    tails: dict[int, dict[int, int]] = {}
    found = [0] * len(dropping)
    for index in reversed(plan.order):
        mine, after = tools[index], plan.after[index]
        own: dict[int, int] = {}
        for tool in bits(mine.uses):
            best = 1
            for later in bits(after & found[tool]):
                length = tails[later][tool]
                if length < best:
                    continue
                between = after & plan.before[later] & ~(1 << later) & dropping[tool]
                kept = mine.ends >> tool & 1 and tools[later].starts >> tool & 1 and not between
                best = max(best, length + (not kept))
            own[tool] = best
            found[tool] |= 1 << index
        if own:
            tails[index] = own
    return tails


def _side_tails(plan: Plan) -> dict[int, dict[int, int]]:
    """Per event its side and the changes of side still needed from it on."""
    tails: dict[int, dict[int, int]] = {}
    sides: dict[int, int] = {}
    for index in reversed(plan.order):
        side = _common_side(plan.ways[index])
        if side:
            later = [i for i in bits(plan.after[index]) if i in sides]
            longest = max((tails[i][sides[i]] + (sides[i] != side) for i in later), default=0)
            sides[index] = side
            tails[index] = {side: longest}
    return tails


def _anchors(plan: Plan, tails: Mapping[int, Mapping[int, int]]) -> tuple[tuple[int, int, int, int], ...]:
    """One longest chain of runs per label: (event bit, label, moves in whose stretch it can be, moves before it).

    No two of them can share a run. Of equal chains the one whose members fit in the fewest stretches.
    """
    members: dict[int, dict[int, list[int]]] = {}
    for index in plan.order:
        for label, length in tails.get(index, {}).items():
            members.setdefault(label, {}).setdefault(length, []).append(index)
    seats: dict[int, int] = {}
    out = []
    for label in sorted(members):
        last: int | None = None
        for length in range(max(members[label]), 0, -1):
            fitting = [i for i in members[label].get(length, ()) if _parted(plan, last, i)]
            if not fitting:
                break
            for index in fitting:
                if index not in seats:
                    seats[index] = _seats(plan, index)
            last = min(fitting, key=lambda i: (seats[i].bit_count(), i))
            out.append((1 << last, label, seats[last], plan.before[last] & plan.moves & ~(1 << last)))
    return tuple(sorted(out, key=lambda anchor: anchor[2].bit_count()))


def _parted(plan: Plan, earlier: int | None, later: int) -> bool:
    """Tell whether a move must come between two events (true for the first of a chain)."""
    if earlier is None:
        return True
    closing = (plan.after[earlier] | 1 << earlier) & plan.moves
    return bool(closing & plan.before[later] & ~(1 << later))


def _seats(plan: Plan, index: int) -> int:
    """Moves in whose stretch the event can be done: not before it, and no move before them waits for it."""
    own = (1 << index) & plan.moves
    if own:
        return own
    late = plan.after[index] & plan.moves
    mask = 0
    for move in bits(plan.events & plan.moves & ~plan.before[index]):
        if not plan.before[move] & ~(1 << move) & late:
            mask |= 1 << move
    return mask


def _matching(seats: list[int], enough: int) -> int:
    """Size of a largest matching of the rows to distinct bits of their masks, or `enough` if it is not smaller."""
    taken: dict[int, int] = {}
    used = count = 0

    def place(row: int, tried: int) -> tuple[bool, int]:
        nonlocal used
        free = seats[row] & ~used
        if free:
            bit = free & -free
            taken[bit] = row
            used |= bit
            return True, tried
        free = seats[row] & ~tried
        while free:
            bit = free & -free
            tried |= bit
            moved, tried = place(taken[bit], tried)
            if moved:
                taken[bit] = row
                return True, tried
            free = seats[row] & ~tried
        return False, tried

    for row in range(len(seats)):
        if count >= enough:
            break
        count += place(row, 0)[0]
    return count


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


def _common_side(ways: tuple[Way, ...]) -> int:
    side = ways[0].side
    return side if all(way.side == side for way in ways) else 0
