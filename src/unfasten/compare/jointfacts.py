"""What differs in how parts are fastened: kind, drive, thread, length, count, reuse, ways, preparation, tools, side."""

from __future__ import annotations

from collections.abc import Iterator
from types import MappingProxyType
from typing import Final

from unfasten.compare.build import both, difference, seen, worse
from unfasten.compare.difference import Difference, Effect, Evidence
from unfasten.compare.sides import Sided, fastening
from unfasten.compare.structure import Structure
from unfasten.compare.words import joint_words, part_words
from unfasten.record.joint import Joint, Kind, Reuse, Way
from unfasten.record.record import Record

NOT_KNOWN: Final = "not known"
#: how hard a kind of joint is to undo and use again, alike kinds together (our own order, common practice)
_GRIP: Final[MappingProxyType[Kind, int]] = MappingProxyType(
    {"magnet": 0, "connector": 0, "clip": 0, "screw": 0, "press-fit": 0, "other": 0, "tape": 1, "adhesive": 2,
     "solder": 3, "weld": 4}
)  # fmt: skip
_LOSS: Final[MappingProxyType[Reuse, int]] = MappingProxyType(
    {"reusable": 0, "resupplied": 1, "removable": 2, "none": 3}
)


def joint_differences(structure: Structure) -> Iterator[Difference]:
    """Differences of joints between parts that both records have."""
    for a, b in structure.pair.joints:
        yield from _Two(structure, a, b).differences()
    yield from _lone(structure)


def _lone(structure: Structure) -> Iterator[Difference]:
    """Joints of one record only, between parts that both have and that neither gave off nor took in another."""
    pair = structure.pair
    matched = ({a for a, _ in pair.joints}, {b for _, b in pair.joints})
    for flip, side in enumerate((pair.before, pair.after)):
        for name, joint in side.record.joints.items():
            held = side.common(joint.holds)
            if name not in matched[flip] and held <= set(pair.shared):
                one = _one_sided(structure, side, name, held, flip)
                yield one.mirrored() if flip else one


def _one_sided(structure: Structure, side: Sided, name: str, held: frozenset[str], flip: int) -> Difference:
    pair = structure.pair.other_way if flip else structure.pair
    joint = side.record.joints[name]
    return difference(
        "re-fastened",
        "joint",
        (name, None),
        (fastening(joint), "no such joint"),
        effect="easier",
        owners=held - {side.names[side.record.frame]},
        evidence=[
            Evidence("before", f"joints.{name}", f"{fastening(joint)}; holds {part_words(side, held)}"),
            *seen(pair, joint=(name, None)),
        ],
        note=f"between {part_words(side, held)}",
    )


class _Two:
    """One joint in both records."""

    def __init__(self, structure: Structure, a: str, b: str) -> None:
        self.structure = structure
        self.ids = (a, b)
        pair = structure.pair
        self.records: tuple[Record, Record] = (pair.before.record, pair.after.record)
        self.a: Joint = pair.before.record.joints[a]
        self.b: Joint = pair.after.record.joints[b]
        stays = pair.before.names[pair.before.record.frame]
        self.owners = (pair.before.common(self.a.holds) | pair.after.common(self.b.holds)) - {stays}

    def differences(self) -> Iterator[Difference]:
        """All of them; where the kind differs, the rest goes without saying."""
        if self.a.kind != self.b.kind:
            yield self._make("kind", (fastening(self.a), fastening(self.b)), self._grip())
            return
        yield from self._count()
        yield from self._drive()
        yield from self._reuse()
        yield from self._ways()

    def _grip(self) -> Effect:
        return worse(_GRIP[self.a.kind], _GRIP[self.b.kind])

    def _count(self) -> Iterator[Difference]:
        if self.a.count != self.b.count:
            texts = (str(self.a.count), str(self.b.count))
            yield self._make("count", texts, worse(self.a.count, self.b.count))

    def _drive(self) -> Iterator[Difference]:
        if self._drives():
            one, other = zip(*self._drives(), strict=True)
            yield self._make("drive", (", ".join(one), ", ".join(other)))

    def _drives(self) -> list[tuple[str, str]]:
        """Drive, thread and length, as far as they are known on both sides and differ."""
        pairs = ((self.a.drive, self.b.drive), (self.a.thread, self.b.thread), (self.a.length, self.b.length))
        return [(str(x), str(y)) for x, y in pairs if x is not None and y is not None and str(x) != str(y)]

    def _reuse(self) -> Iterator[Difference]:
        a, b = self.a.reuse, self.b.reuse
        if a == b:
            return
        effect: Effect = "open" if a is None or b is None else worse(_LOSS[a], _LOSS[b])
        yield self._make("reuse", (a or NOT_KNOWN, b or NOT_KNOWN), effect)

    def _ways(self) -> Iterator[Difference]:
        a, b = self.a.ways, self.b.ways
        if len(a) != len(b):
            texts = (self._listed(0, a), self._listed(1, b))
            yield self._make("ways", texts, worse(-len(a), -len(b)))
        one, other = self._first(a, b)
        if _prepared(self.records[0], one) != _prepared(self.records[1], other):
            texts = (_prepared(self.records[0], one), _prepared(self.records[1], other))
            yield self._make("preparation", texts, worse(len(one.prepare), len(other.prepare)))
        by = (_tools(self.records[0], one.tools), _tools(self.records[1], other.tools))
        if by[0] != by[1] and not self._drives():
            yield self._make("tools", by, worse(len(one.tools), len(other.tools)))
        moved = self.ids[0] in self.structure.holds or any(self.structure.cover_change(*self.ids))
        if one.side != other.side and not moved:
            yield self._make("side", (one.side, other.side))
        times = (_time(one), _time(other))
        if times[0] is not None and times[1] is not None and times[0] != times[1] and by[0] == by[1]:
            texts = (_time_words(one), _time_words(other))
            yield self._make("time", texts, worse(times[0], times[1]))

    def _first(self, a: tuple[Way, ...], b: tuple[Way, ...]) -> tuple[Way, Way]:
        """The first way of each, or the earliest two with the same tools."""
        same = [
            (i + j, by, i, j)
            for i, one in enumerate(a)
            for j, other in enumerate(b)
            if (by := _tools(self.records[0], one.tools)) == _tools(self.records[1], other.tools)
        ]
        _, _, i, j = min(same, default=(0, "", 0, 0))
        return a[i], b[j]

    def _listed(self, side: int, ways: tuple[Way, ...]) -> str:
        record = self.records[side]
        words = []
        for way in ways:
            prepared = _prepared(record, way)
            words.append(_tools(record, way.tools) + ("" if prepared == "none" else f" after {prepared}"))
        return f"{len(ways)}: " + "; or ".join(words)

    def _make(self, what: str, texts: tuple[str, str], effect: Effect = "neither") -> Difference:
        pair = self.structure.pair
        keys = {"kind": "", "tools": ".ways", "side": ".ways", "time": ".ways", "preparation": ".ways"}
        key = keys.get(what, f".{what}")
        at = (f"joints.{self.ids[0]}{key}", f"joints.{self.ids[1]}{key}")
        return difference(
            "re-fastened",
            what,
            self.ids,
            texts,
            effect=effect,
            owners=self.owners,
            evidence=[*both(at, texts), *seen(pair, joint=self.ids)],
            note=joint_words(self.ids[0]) if self.ids[0] == self.ids[1] else " / ".join(map(joint_words, self.ids)),
        )


def _tools(record: Record, tools: tuple[str, ...]) -> str:
    return " + ".join(record.tools[tool].name for tool in tools) or "by hand"


def _prepared(record: Record, way: Way) -> str:
    """Preparations with their tools and how these are come by; times are told elsewhere."""
    words = []
    for one in way.prepare:
        tools = [f"{record.tools[t].name} ({record.tools[t].tool_class or 'class not known'})" for t in one.tools]
        words.append(f"{one.do} with {' + '.join(tools)}" if tools else one.do)
    return ", ".join(words) or "none"


def _time(way: Way) -> float | None:
    if way.time is None:
        return None
    return float(way.time.si) + sum(float(one.time.si) for one in way.prepare if one.time is not None)


def _time_words(way: Way) -> str:
    prepared = [str(one.time) for one in way.prepare if one.time is not None]
    return f"{way.time}" + "".join(f" and {time} of preparation" for time in prepared)
