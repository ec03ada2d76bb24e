"""Parts merged into another, and parts split off: a part that is not there any more, and what took over its work."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from unfasten.compare.build import difference, seen
from unfasten.compare.difference import Difference, Evidence
from unfasten.compare.measured import change_of, combined
from unfasten.compare.sides import Pair, Sided
from unfasten.compare.words import joint_words, name_of
from unfasten.evidence.quantity import Quantity

#: a taken-over cover counts for one over the number of things that the heir covers; the least sum for a union, and what
#: the other traces count for (our own figures, common practice)
LEAST = 0.2
ROLE, FUNCTION, JOINED, ALIKE = 0.6, 0.6, 0.4, 0.15


@dataclass(frozen=True)
class Union:
    """The part `gone` of the record before became part of `into`; common names. `traces` say why."""

    gone: str
    into: str
    score: float
    traces: tuple[Evidence, ...]


def unions(pair: Pair) -> tuple[Union, ...]:
    """Parts of the record before that were merged into a part that both records have, each into the best heir."""
    found = []
    covered = _same_things(pair)
    for gone in pair.before.ids:
        if gone in pair.after.ids:
            continue
        heirs = [union for into in pair.shared if (union := _union(pair, covered, gone, into)).score >= LEAST]
        if heirs:
            found.append(max(heirs, key=lambda union: (union.score, name_of(pair, union.into))))
    return tuple(found)


def union_differences(pair: Pair, merged: tuple[Union, ...], split: tuple[Union, ...]) -> Iterator[Difference]:
    """A difference for every union: merged as seen from the record before, split as seen from the one after."""
    for union in merged:
        yield _difference(pair, union)
    for union in split:
        yield _difference(pair.other_way, union).mirrored()


def _difference(pair: Pair, union: Union) -> Difference:
    gone, into = name_of(pair, union.gone), name_of(pair, union.into)
    return difference(
        "merged",
        "part",
        (pair.before.ids[union.gone], pair.after.ids[union.into]),
        (f"{gone} and {into}", into),
        owners=[union.gone, union.into],
        evidence=[*union.traces, *_masses(pair, union), *seen(pair, union.gone)],
    )


def _same_things(pair: Pair) -> dict[tuple[str, str], tuple[str, str]]:
    """What can be covered in both records: joints and lifts before -> after."""
    joints = {("joint", a): ("joint", b) for a, b in pair.joints}
    parts = {("part", pair.before.ids[c]): ("part", pair.after.ids[c]) for c in pair.shared}
    return joints | parts


def _union(pair: Pair, same: dict[tuple[str, str], tuple[str, str]], gone: str, into: str) -> Union:
    before, after = pair.before, pair.after
    score = 0.0
    traces: list[Evidence] = []
    had, has = before.covered_by[into], after.covered_by[into]
    for thing in sorted(before.covered_by[gone]):
        if thing in same and same[thing] in has and thing not in had:
            score += 1 / len(has)
            traces += _covers(pair, thing, same[thing], gone, into)
    for weight, trace in (*_role(pair, gone, into), *_functions(pair, gone, into), *_joined(pair, gone, into)):
        score += weight
        traces.append(trace)
    if score and set(_words(before, gone)) & set(_words(before, into)):
        score += ALIKE
    return Union(gone, into, score, tuple(traces))


def _words(side: Sided, common: str) -> list[str]:
    return side.record.parts[side.ids[common]].name.casefold().split()


def _covers(
    pair: Pair, thing: tuple[str, str], later: tuple[str, str], gone: str, into: str
) -> tuple[Evidence, Evidence]:
    here = [f"joints.{n}" if kind == "joint" else f"parts.{n}.lift.behind" for kind, n in (thing, later)]
    return (
        Evidence("before", here[0], f"{joint_words(thing[1])} lies under {name_of(pair, gone)}"),
        Evidence("after", here[1], f"{joint_words(later[1])} lies under {name_of(pair, into)}"),
    )


def _role(pair: Pair, gone: str, into: str) -> Iterator[tuple[float, Evidence]]:
    """The heir has the role that the other part had, and had it not before."""
    role = pair.before.record.parts[pair.before.ids[gone]].role
    had = pair.before.record.parts[pair.before.ids[into]].role
    heir = pair.after.ids[into]
    if role not in (None, "other", had) and pair.after.record.parts[heir].role == role:
        yield ROLE, Evidence("after", f"parts.{heir}.role", f"has the role {role}")


def _functions(pair: Pair, gone: str, into: str) -> Iterator[tuple[float, Evidence]]:
    """Components with a function that stood on the other part stand on the heir now."""
    before, after = pair.before.record.parts, pair.after.record.parts
    mine = {one.function for one in before[pair.before.ids[gone]].components}
    had = {one.function for one in before[pair.before.ids[into]].components}
    heir = pair.after.ids[into]
    for index, one in enumerate(after[heir].components):
        if one.function in mine and one.function not in had:
            yield FUNCTION, Evidence("after", f"parts.{heir}.components[{index}]", f"carries the {one.function}")


def _joined(pair: Pair, gone: str, into: str) -> Iterator[tuple[float, Evidence]]:
    """The heir is joined, in the same kind of joint, to what the other part was joined to and the heir was not."""
    stays = pair.before.names[pair.before.record.frame]
    taken = _links(pair.before, gone) - _links(pair.before, into)
    for joint in sorted(pair.after.joints_of[into]):
        kind = pair.after.record.joints[joint].kind
        for other in sorted(pair.after.common(pair.after.record.joints[joint].holds) - {into, stays}):
            if (kind, other) in taken and other in pair.before.ids:
                yield JOINED, Evidence("after", f"joints.{joint}.holds", f"is joined to {name_of(pair, other)}")


def _links(side: Sided, common: str) -> set[tuple[str, str]]:
    joints = [side.record.joints[name] for name in side.joints_of[common]]
    return {(joint.kind, other) for joint in joints for other in side.common(joint.holds) if other != common}


def _masses(pair: Pair, union: Union) -> Iterator[Evidence]:
    """Whether the masses add up: the two before against the one after."""
    before, after = pair.before, pair.after
    one = before.record.parts[before.ids[union.gone]].mass
    other = before.record.parts[before.ids[union.into]].mass
    now = after.record.parts[after.ids[union.into]].mass
    if one is None or other is None or now is None:
        return
    together = Quantity(one.si + other.si, "g", combined(one.u_si, other.u_si))
    says = f"{together.value} g together before, {now} after: {change_of(together, now).says()}"
    yield Evidence("after", f"parts.{after.ids[union.into]}.mass", says, "measured")
