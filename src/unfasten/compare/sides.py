"""Two records side by side: parts and joints under common names, so that what they say can be compared."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Final, NamedTuple

from unfasten.compare.match import Row, age
from unfasten.record.fold import fold_log
from unfasten.record.joint import Joint, Kind
from unfasten.record.log import Found, Lifted, Released, Swung
from unfasten.record.record import Record

#: weights of what makes two joints the same, and the least sum (our own figures, common practice)
SAME_ID: Final = 0.5
HOLDS: Final = 0.4
SAME_KIND: Final = 0.15
LEAST: Final = 0.35


@dataclass(frozen=True)
class Sided:
    """One of the two records, folded, and the common name of each of its parts."""

    record: Record
    names: dict[str, str]

    def common(self, parts: Iterable[str]) -> frozenset[str]:
        """Common names of parts."""
        return frozenset(self.names[part] for part in parts)

    @cached_property
    def ids(self) -> dict[str, str]:
        """Id of each part by its common name."""
        return {common: part for part, common in self.names.items()}

    @cached_property
    def joints_of(self) -> dict[str, frozenset[str]]:
        """Joints that hold each part, by the common name of the part."""
        out: dict[str, set[str]] = {common: set() for common in self.names.values()}
        for name, joint in self.record.joints.items():
            for part in joint.holds:
                out[self.names[part]].add(name)
        return {common: frozenset(joints) for common, joints in out.items()}

    def covers(self, joint: str, tools: frozenset[tuple[str, ...]] = frozenset()) -> frozenset[str]:
        """Common names of all parts under which the joint lies, in any way or in those with one of the tool sets."""
        ways = [way for way in self.record.joints[joint].ways if not tools or way.tools in tools]
        return self.common(part for way in ways for clause in way.under for part in clause)

    def might_cover(self, joint: str, common: str) -> bool:
        """Whether a part that is not listed may yet cover the joint: the survey is partial and did not clear it."""
        part = self.ids.get(common)
        ways = self.record.joints[joint].ways
        surveys = [way.survey or self.record.setup.survey for way in ways if part not in way.clear_of]
        return part is not None and "partial" in surveys

    @cached_property
    def log_of(self) -> dict[tuple[str, str], tuple[int, ...]]:
        """Entries of the log that release a joint, or lift or swing a part: ("joint" or "part", id) -> numbers."""
        out: dict[tuple[str, str], list[int]] = {}
        for index, entry in enumerate(self.record.log):
            if isinstance(entry, Released):
                out.setdefault(("joint", entry.joint), []).append(index)
            elif isinstance(entry, Lifted) and entry.part is not None:
                out.setdefault(("part", entry.part), []).append(index)
            elif isinstance(entry, Swung):
                out.setdefault(("part", self.record.swings[entry.swing].part), []).append(index)
        return {key: tuple(numbers) for key, numbers in out.items()}

    def found_at(self, joint: str) -> frozenset[str]:
        """Common names of covers of the joint that only an entry `found` of the log tells of."""
        entries = [entry for entry in self.record.log if isinstance(entry, Found) and entry.joint == joint]
        return self.common(part for entry in entries for clause in entry.under for part in clause)

    @cached_property
    def covered_by(self) -> dict[str, frozenset[tuple[str, str]]]:
        """What each part covers, by common name: joints, and lifts of parts and bundles."""
        out: dict[str, set[tuple[str, str]]] = {common: set() for common in self.names.values()}
        for name in self.record.joints:
            for cover in self.covers(name):
                out[cover].add(("joint", name))
        for name, part in self.record.parts.items():
            for clause in part.lift.behind if part.lift else ():
                for cover in clause:
                    out[self.names[cover]].add(("part", name))
        return {common: frozenset(covered) for common, covered in out.items()}


@dataclass(frozen=True)
class Pair:
    """Two records with their parts aligned. `shared` are the common names that both have."""

    before: Sided
    after: Sided

    @cached_property
    def shared(self) -> tuple[str, ...]:
        """Common names of parts that both records have, in the order of the record before."""
        return tuple(common for common in self.before.ids if common in self.after.ids)

    @cached_property
    def joints(self) -> tuple[tuple[str, str], ...]:
        """Joints of both records that are the same joint, in the order of the record before."""
        both = (self.before.record, self.after.record)
        if age(self.before.record, both) > age(self.after.record, both):
            found = [(a, b) for b, a in _same_joints(self.after, self.before)]
        else:
            found = _same_joints(self.before, self.after)
        place = {name: index for index, name in enumerate(self.before.record.joints)}
        return tuple(sorted(found, key=lambda pair: place[pair[0]]))

    @cached_property
    def other_way(self) -> Pair:
        """The same pair seen from the other side, with the same joints."""
        pair = Pair(self.after, self.before)
        place = {name: index for index, name in enumerate(self.after.record.joints)}
        turned = sorted(((b, a) for a, b in self.joints), key=lambda one: place[one[0]])
        pair.__dict__["joints"] = tuple(turned)
        return pair


def pair_up(records: Sequence[Record], rows: Sequence[Row], before: int, after: int) -> Pair:
    """Put two of the aligned records side by side; the common name of a part is the number of its row."""
    return Pair(_sided(records[before], rows, before), _sided(records[after], rows, after))


def _sided(record: Record, rows: Sequence[Row], number: int) -> Sided:
    found = {row.members[number]: str(index) for index, row in enumerate(rows)}
    return Sided(fold_log(record), {part: found[part] for part in record.parts})


def _same_joints(first: Sided, second: Sided) -> list[tuple[str, str]]:
    """Assign joints with the greatest sum of scores; those with the same id and the same holds need no search."""
    from numpy import array
    from scipy.optimize import linear_sum_assignment  # type: ignore[import-untyped]

    sure = [name for name in first.record.joints if name in second.record.joints and _same(first, second, name)]
    one = sorted(set(first.record.joints) - set(sure))
    other = sorted(set(second.record.joints) - set(sure))
    if not one or not other:
        return [(name, name) for name in sure]
    mine = [_Face(a, first.record.joints[a].kind, first.common(first.record.joints[a].holds)) for a in one]
    theirs = [_Face(b, second.record.joints[b].kind, second.common(second.record.joints[b].holds)) for b in other]
    gain = array([[max(_score(a, b) - LEAST, 0.0) for b in theirs] for a in mine])
    pairs = [(one[i], other[j]) for i, j in zip(*linear_sum_assignment(gain, maximize=True), strict=True) if gain[i, j]]
    return [*((name, name) for name in sure), *pairs]


def _same(first: Sided, second: Sided, name: str) -> bool:
    a, b = first.record.joints[name], second.record.joints[name]
    return a.kind == b.kind and first.common(a.holds) == second.common(b.holds)


class _Face(NamedTuple):
    """What of a joint is looked at: id, kind, and the common names of what it holds."""

    id: str
    kind: Kind
    holds: frozenset[str]


def _score(a: _Face, b: _Face) -> float:
    shared = len(a.holds & b.holds)
    if not shared:
        return 0.0
    score = HOLDS * shared / (len(a.holds) + len(b.holds) - shared)
    return score + (SAME_ID if a.id == b.id else 0.0) + (SAME_KIND if a.kind == b.kind else 0.0)


def fastening(joint: Joint) -> str:
    """A joint in words: count, kind, drive, thread and length."""
    parts = [f"{joint.count} × {joint.kind}" if joint.count > 1 else joint.kind]
    parts += [text for text in (joint.drive, joint.thread, str(joint.length) if joint.length else None) if text]
    return ", ".join(parts)
