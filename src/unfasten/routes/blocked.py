"""Why a part cannot be reached where some events may not happen: a chain of reasons that is a proof.

Every event of the chain waits for another of it, or may not happen: so none can be the first of them to happen.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final, Literal

from unfasten.record.fold import lift_of
from unfasten.record.record import Record
from unfasten.routes.necessity import bits
from unfasten.routes.problem import Barred, _Compiler
from unfasten.routes.unknown import Unknown

EventId = tuple[str, str]
#: no finite chain leads from the event to one that may not happen: it waits in a ring
_RING: Final = 1 << 30


@dataclass(frozen=True, slots=True)
class Block:
    """One event that cannot happen, and the events it waits for, none of which can happen first.

    `how`: it is `barred`, `held` by a joint, `covered` (`cover`: parts any one of which would have to be cleared;
    `open`: an unknown cover), or it can `never` happen. `way`: the way in question, of a joint that has several.
    """

    kind: str
    id: str
    how: Literal["barred", "held", "covered", "never"]
    waits_for: tuple[EventId, ...] = ()
    way: int | None = None
    cover: tuple[str, ...] = ()
    open: bool = False


def blocks(
    record: Record, real: Unknown | None, barred: frozenset[Barred], table: Sequence[int], target: str
) -> tuple[Block, ...]:
    """The chain from the target on; `table` (`necessity.necessary`) is that of the world with the events barred."""
    return tuple(_Chain(record, real or Unknown({}, {}, {}), barred, table).blocks(target))


class _Chain:
    """Ranks what cannot happen by its distance from what is barred, and follows the nearest reasons."""

    def __init__(self, record: Record, real: Unknown, barred: frozenset[Barred], table: Sequence[int]) -> None:
        self.record, self.real, self.barred = record, real, barred
        self.compiler = _Compiler(record, real, barred)
        self.problem = self.compiler.problem()
        self.stuck = [number for number in range(len(table)) if table[number] < 0]
        self.covers = {number: list(self._choices(number)) for number in self.stuck}
        self.rank = self._ranks()

    def blocks(self, target: str) -> Iterator[Block]:
        told: set[int] = set()
        waiting = [self.problem.target[target]]
        while waiting:
            number = waiting.pop(0)
            if number in told:
                continue
            told.add(number)
            found = list(self._of(number))
            yield from found
            names = {(event.kind, event.id): i for i, event in enumerate(self.problem.events)}
            waiting = [names[one] for block in found for one in block.waits_for] + waiting

    def _of(self, number: int) -> Iterator[Block]:
        """The blocks of one event: one for the nearest joint, or one for each of its ways."""
        event = self.problem.events[number]
        name = event.kind, event.id
        if self._is_barred(number):
            yield Block(*name, "barred")
            return
        joints = [joint for joint in bits(event.needs) if joint in self.covers]
        covers = [min(found, key=self._far) for _, found in self.covers[number] if found]
        ways_rank = max((self._far(one) for one in covers), default=(_RING, True))
        all_ways = bool(covers) and len(covers) == len(self.covers[number])
        yield from (Block(*name, "barred", (), way) for way in self._barred_ways(number))
        if joints and not (all_ways and ways_rank < min((self.rank[j], False) for j in joints)):
            joint = min(joints, key=lambda one: (self.rank[one], one))
            yield Block(*name, "held", (self._name(joint),))
            return
        for way, found in self.covers[number]:
            if found:
                cover, mask, is_open = min(found, key=self._far)
                several = way if event.kind == "release" and len(self.record.joints[event.id].ways) > 1 else None
                waits = tuple(self._name(one) for one in bits(mask))
                yield Block(*name, "covered", waits, several, cover, is_open)
        if not any(found for _, found in self.covers[number]):
            yield Block(*name, "never")

    def _far(self, choice: tuple[tuple[str, ...], int, bool]) -> tuple[int, bool]:
        """How far a cover is from what is barred; known covers come before unknown ones."""
        return max((self.rank[one] for one in bits(choice[1])), default=0), choice[2]

    def _ranks(self) -> dict[int, int]:
        rank = dict.fromkeys(self.stuck, _RING)
        changed = True
        while changed:
            changed = False
            for number in self.stuck:
                new = self._rank(number, rank)
                if new < rank[number]:
                    rank[number], changed = new, True
        return rank

    def _rank(self, number: int, rank: dict[int, int]) -> int:
        if self._is_barred(number) or not self.problem.events[number].ways:
            return 0
        best = min((rank[j] for j in bits(self.problem.events[number].needs) if j in rank), default=_RING)
        ways = [
            min((max((rank[one] for one in bits(mask)), default=0) for _, mask, _ in found), default=_RING)
            for _, found in self.covers[number]
        ]
        return min(_RING, min(best, max(ways, default=_RING)) + 1)

    def _choices(self, number: int) -> Iterator[tuple[int | None, list[tuple[tuple[str, ...], int, bool]]]]:
        """For each way that is not barred: the covers that nothing can clear, with the moves that would clear them."""
        for way, covers in self._ways(number):
            stuck = [(c, mask, is_open) for c, mask, is_open in covers if all(one in self._all for one in bits(mask))]
            yield way, stuck

    @property
    def _all(self) -> frozenset[int]:
        return frozenset(self.stuck)

    def _ways(self, number: int) -> Iterator[tuple[int | None, list[tuple[tuple[str, ...], int, bool]]]]:
        event, compiler, record = self.problem.events[number], self.compiler, self.record
        if event.kind == "release":
            joint = record.joints[event.id]
            for way in range(len(joint.ways)):
                if ("release", event.id, way) not in self.barred:
                    own, bit = frozenset(joint.holds), compiler.joint_bit[event.id]
                    open_covers = self.real.ways.get((event.id, way), ())
                    yield way, self._masks(joint.ways[way].under, open_covers, own, event.id, bit)
            return
        kind, name = compiler.moves[number]
        if kind == "part":
            listed, open_covers = lift_of(record.parts[name]).behind, self.real.parts.get(name, ())
            yield None, self._masks(listed, open_covers, frozenset((name,)), name, 0)
        elif kind == "bundle":
            listed, open_covers = record.bundles[name].lift.behind, self.real.bundles.get(name, ())
            yield None, self._masks(listed, open_covers, compiler.members[name], name, 0)
        else:
            swing = record.swings[name]
            yield None, self._masks(swing.lift.behind, (), frozenset((swing.part,)), "", 0)

    def _masks(
        self,
        listed: Sequence[tuple[str, ...]],
        open_covers: Sequence[str],
        own: frozenset[str],
        what: str,
        joint: int,
    ) -> list[tuple[tuple[str, ...], int, bool]]:
        both = [*((cover, False) for cover in listed), *(((part,), True) for part in open_covers)]
        return [(cover, self.compiler._clause(cover, own, what, joint), is_open) for cover, is_open in both]

    def _is_barred(self, number: int) -> bool:
        """Whether the event is barred by all its ways."""
        event = self.problem.events[number]
        if event.kind != "release":
            return (event.kind, event.id, None) in self.barred
        return len(self._barred_ways(number)) == len(self.record.joints[event.id].ways)

    def _barred_ways(self, number: int) -> list[int]:
        event = self.problem.events[number]
        ways = range(len(self.record.joints[event.id].ways)) if event.kind == "release" else ()
        return [way for way in ways if ("release", event.id, way) in self.barred]

    def _name(self, number: int) -> EventId:
        event = self.problem.events[number]
        return event.kind, event.id
