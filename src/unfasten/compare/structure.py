"""Parts new and gone, parts held elsewhere, joints under other covers, swings and bundles that differ."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

from unfasten.compare.build import difference, seen, worse
from unfasten.compare.difference import Difference, Evidence
from unfasten.compare.sides import Pair, Sided
from unfasten.compare.unions import Union, union_differences, unions
from unfasten.compare.words import joint_words, part_words


@dataclass(frozen=True)
class Structure:
    """The two records as sets of parts that hold and cover one another.

    What follows from a part being new, gone, merged, split or moved is told with that part and not again.
    """

    pair: Pair

    @cached_property
    def merged(self) -> tuple[Union, ...]:
        """Parts merged into others."""
        return unions(self.pair)

    @cached_property
    def split(self) -> tuple[Union, ...]:
        """Parts split off, as unions seen from the record after."""
        return unions(self.pair.other_way)

    @cached_property
    def role_moved(self) -> dict[tuple[str, str], str]:
        """Ids before and after of parts between which a role passed on by a merger or split, with the heir's name."""
        before, after = self.pair.before, self.pair.after
        found = [(before.ids[u.gone], after.ids[u.into], u.into) for u in self.merged]
        found += [(before.ids[u.into], after.ids[u.gone], u.into) for u in self.split]
        roles = {(a, b): (before.record.parts[a].role, after.record.parts[b].role) for a, b, _ in found}
        return {(a, b): common for a, b, common in found if None not in roles[a, b] and len(set(roles[a, b])) == 1}

    @cached_property
    def gone(self) -> frozenset[str]:
        """Common names of parts that are not there any more."""
        return frozenset(self.pair.before.ids) - frozenset(self.pair.after.ids)

    @cached_property
    def new(self) -> frozenset[str]:
        """Common names of parts that were not there."""
        return frozenset(self.pair.after.ids) - frozenset(self.pair.before.ids)

    @cached_property
    def heirs(self) -> frozenset[str]:
        """Parts that took another in, or gave one off."""
        return frozenset(union.into for union in (*self.merged, *self.split))

    @cached_property
    def holds(self) -> dict[str, tuple[frozenset[str], frozenset[str], frozenset[str]]]:
        """Joints (ids before) that hold other parts now: parts kept, lost and gained, less what is explained."""
        out = {}
        for a, b in self.pair.joints:
            before = self.pair.before.common(self.pair.before.record.joints[a].holds)
            after = self.pair.after.common(self.pair.after.record.joints[b].holds)
            lost, gained = self._unexplained(before - after, after - before, before & after)
            if lost or gained:
                out[a] = (before & after, lost, gained)
        return out

    def _unexplained(
        self, lost: frozenset[str], gained: frozenset[str], kept: frozenset[str]
    ) -> tuple[frozenset[str], frozenset[str]]:
        """Drop what a new or gone part explains: it took a place in the joint, or what it was split from left it."""
        if (gained and gained <= self.new) or (lost and lost <= self.gone):
            return frozenset(), frozenset()
        for union, side, other in [(u, self.pair.after, lost) for u in self.split] + [
            (u, self.pair.before, gained) for u in self.merged
        ]:
            if union.into in kept and other and other <= _partners(side, union.gone):
                return frozenset(), frozenset()
        return lost, gained

    @cached_property
    def moved(self) -> dict[str, tuple[str, ...]]:
        """Parts that a joint holds to something else than before, with these joints (ids before)."""
        out: dict[str, list[str]] = {}
        stays = self.pair.before.names[self.pair.before.record.frame]
        for joint, (kept, _, _) in self.holds.items():
            for common in sorted(kept - {stays}) or sorted(kept):
                out.setdefault(common, []).append(joint)
        return {common: tuple(joints) for common, joints in out.items()}

    def differences(self) -> Iterator[Difference]:
        """All of them."""
        yield from union_differences(self.pair, self.merged, self.split)
        yield from self._gone(self.pair, self.gone - {union.gone for union in self.merged})
        for one in self._gone(self.pair.other_way, self.new - {union.gone for union in self.split}):
            yield one.mirrored()
        yield from self._moves()
        yield from self._covers()

    def _gone(self, pair: Pair, gone: frozenset[str]) -> Iterator[Difference]:
        """Parts of the record before that the one after has not."""
        for common in sorted(gone, key=int):
            part = pair.before.ids[common]
            side = pair.before
            evidence = [Evidence("before", f"parts.{part}", side.record.parts[part].name)]
            evidence += [Evidence("before", f"joints.{name}", "holds it") for name in sorted(side.joints_of[common])]
            hosts = _partners(side, common)
            hosts = hosts if hosts <= self.new | self.gone else frozenset()
            yield difference(
                "gone",
                "part",
                (part, None),
                (side.record.parts[part].name, "not there"),
                owners=[common],
                evidence=[*evidence, *seen(pair, common)],
                note=f"sits on {part_words(side, hosts)} only" if hosts else "",
                hosts=hosts,
            )

    def _moves(self) -> Iterator[Difference]:
        before, after = self.pair.before, self.pair.after
        told: set[str] = set()
        later = dict(self.pair.joints)
        for common, joints in sorted(self.moved.items(), key=lambda item: (-len(item[1]), self._ids(item[0]))):
            mine = sorted((joint for joint in joints if joint not in told), key=lambda one: sorted((one, later[one])))
            told |= set(mine)
            if not mine:
                continue
            lost = frozenset().union(*(self.holds[joint][1] for joint in mine))
            gained = frozenset().union(*(self.holds[joint][2] for joint in mine))
            owners = {common} | frozenset().union(*(self.holds[joint][0] for joint in mine))
            evidence = [Evidence("before", f"joints.{joint}.holds", _held(before, joint)) for joint in mine]
            evidence += [Evidence("after", f"joints.{later[j]}.holds", _held(after, later[j])) for j in mine]
            cable = after.record.parts[after.ids[common]].cable is not None
            yield difference(
                "moved",
                "held to",
                (before.ids[common], after.ids[common]),
                self._passed(mine, lost, gained),
                owners=owners - {before.names[before.record.frame]},
                evidence=[*evidence, *seen(self.pair, common)],
                note="; ".join(joint_words(joint) for joint in mine) + ("; a cable" if cable else ""),
            )

    def _ids(self, common: str) -> list[str]:
        """Ids of a part in both records, in order: the same from either side."""
        return sorted((self.pair.before.ids[common], self.pair.after.ids[common]))

    def _passed(self, joints: list[str], lost: frozenset[str], gained: frozenset[str]) -> tuple[str, str]:
        """What a moved part was held to and is held to now; joint by joint where that is the same over all joints."""
        before, after = self.pair.before, self.pair.after
        if lost != gained:
            return part_words(before, lost), part_words(after, gained)
        each = [(part_words(before, self.holds[j][1]), part_words(after, self.holds[j][2])) for j in joints]
        return "; then ".join(one for one, _ in each), "; then ".join(other for _, other in each)

    def _covers(self) -> Iterator[Difference]:
        groups: dict[tuple[frozenset[str], frozenset[str]], list[tuple[str, str]]] = {}
        for a, b in self.pair.joints:
            lost, gained = self.cover_change(a, b)
            if lost or gained:
                groups.setdefault((lost, gained), []).append((a, b))
        for (lost, gained), joints in groups.items():
            yield self._covered(lost, gained, sorted(joints, key=sorted))

    def cover_change(self, a: str, b: str) -> tuple[frozenset[str], frozenset[str]]:
        """Covers that a joint lost and gained and that no new, gone, merged, split or moved part explains."""
        tools = _way_tools(self.pair.before, a) & _way_tools(self.pair.after, b)
        before, after = self.pair.before.covers(a, tools), self.pair.after.covers(b, tools)
        fixed = self.pair.before.record.joints[a].kind == self.pair.after.record.joints[b].kind
        if before == after or not fixed or a in self.holds:
            return frozenset(), frozenset()
        heirs = {(u.gone, u.into) for u in self.merged} | {(u.into, u.gone) for u in self.split}
        lost, gained = before - after, after - before
        took = {(g, i) for g, i in heirs if g in lost and i in gained}
        lost, gained = lost - self.gone, gained - self.new
        if lost <= {g for g, _ in took} and gained <= {i for _, i in took}:
            return frozenset(), frozenset()
        lost = frozenset(common for common in lost if not self.pair.after.might_cover(b, common))
        gained = frozenset(common for common in gained if not self.pair.before.might_cover(a, common))
        held = self._held(a, b)
        changed = frozenset(self.moved)
        if held & changed and not self._by_itself(held):
            return frozenset(), frozenset()
        if lost | gained and (lost | gained) & changed and (lost | gained) <= self._around(changed):
            return frozenset(), frozenset()
        return lost, gained

    def _held(self, a: str, b: str) -> frozenset[str]:
        """Common names of what a joint holds in either record."""
        before, after = self.pair.before, self.pair.after
        return before.common(before.record.joints[a].holds) | after.common(after.record.joints[b].holds)

    def _by_itself(self, held: frozenset[str]) -> bool:
        """Whether the parts that the joint holds stayed where they were."""
        stays = self.pair.before.names[self.pair.before.record.frame]
        return not any(common in held for common in self.moved if common != stays)

    def _around(self, moved: frozenset[str]) -> frozenset[str]:
        """Moved parts and what they are held to now or were before."""
        joints = [joint for common in moved for joint in self.moved[common]]
        return moved | frozenset().union(*(self.holds[j][1] | self.holds[j][2] for j in joints))

    def _covered(self, lost: frozenset[str], gained: frozenset[str], joints: list[tuple[str, str]]) -> Difference:
        before, after = self.pair.before, self.pair.after
        names = ", ".join(joint_words(a) for a, _ in joints)
        sides = [
            _sides(before, a) + " to " + _sides(after, b) for a, b in joints if _sides(before, a) != _sides(after, b)
        ]
        evidence = [
            Evidence("before", f"joints.{a}", f"under {part_words(before, before.covers(a))}") for a, _ in joints
        ]
        evidence += [Evidence("after", f"joints.{b}", f"under {part_words(after, after.covers(b))}") for _, b in joints]
        held = frozenset().union(*(self._held(a, b) for a, b in joints))
        found = frozenset().union(*(before.found_at(a) | after.found_at(b) for a, b in joints))
        return difference(
            "covered",
            "found under" if lost | gained <= found else "under",
            (joints[0][0], joints[0][1]),
            (part_words(before, lost), part_words(after, gained)),
            effect=worse(len(lost), len(gained)),
            owners=(held | gained | lost) - {before.names[before.record.frame]},
            evidence=evidence,
            note=names + (f", from {sides[0]}" if sides else ""),
        )


def _partners(side: Sided, common: str) -> frozenset[str]:
    held = [side.common(side.record.joints[joint].holds) for joint in side.joints_of[common]]
    return frozenset().union(*held) - {common}


def _held(side: Sided, joint: str) -> str:
    return "holds " + part_words(side, side.common(side.record.joints[joint].holds))


def _sides(side: Sided, joint: str) -> str:
    return "/".join(sorted({way.side for way in side.record.joints[joint].ways}))


def _way_tools(side: Sided, joint: str) -> frozenset[tuple[str, ...]]:
    return frozenset(way.tools for way in side.record.joints[joint].ways)
