"""How alike two parts are: by id, name, role, measured shape and what they are joined to, with the reasons."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import combinations
from math import dist
from typing import Any, Final

from unfasten.record.part import Part
from unfasten.record.record import Record

#: weights of the reasons; the sum of all is 1.6, and a pair needs `LEAST` (our own figures, common practice)
SAME_ID: Final = 0.45
NAME: Final = 0.25
SAME_NAME: Final = 0.4
SAME_ROLE: Final = 0.15
ONLY_ROLE: Final = 0.3
OTHER_ROLE: Final = -0.2
SIZE: Final = 0.25
HOLES: Final = 0.15
JOINED: Final = 0.1
LEAST: Final = 0.3
#: lengths that differ by less than this share count as alike in shape [1]
ALIKE: Final = 0.02
_WORD: Final = re.compile(r"[^\W_]+")


@dataclass(frozen=True, slots=True)
class Likeness:
    """A score and the reasons for it."""

    score: float
    reasons: tuple[str, ...]


@dataclass(frozen=True)
class Profile:
    """What of a part is looked at; `joined` are the kinds of its joints with the ids of what they lead to.

    `joined_names` has the names in place of the ids: two people may have given other ids to the same parts.
    `is_only`: no other part of the record has its role.
    """

    id: str
    part: Part
    joined: frozenset[tuple[str, str]]
    joined_names: frozenset[tuple[str, str]] = frozenset()
    is_only: bool = False

    @cached_property
    def face(self) -> tuple[object, ...]:
        """All that is looked at: two parts with the same face are alike in the same way to any third."""
        part = self.part
        held = self.joined, self.joined_names
        return self.id, part.name, part.role, part.stays, self.is_only, self.size, self.spans, *held

    @cached_property
    def words(self) -> frozenset[str]:
        """Words of the name."""
        return frozenset(_WORD.findall(self.part.name.casefold()))

    @cached_property
    def size(self) -> tuple[float, ...]:
        """Size from the longest edge down [mm]; empty where it is not recorded."""
        return tuple(sorted((float(edge.si) for edge in self.part.size or ()), reverse=True))

    @cached_property
    def spans(self) -> tuple[float, ...]:
        """Distances between all fixing holes, in order [mm]: the same however the part lies."""
        places = [(float(hole.at[0].si), float(hole.at[1].si)) for hole in self.part.holes]
        return tuple(sorted(dist(a, b) for a, b in combinations(places, 2)))


def profiles(record: Record) -> dict[str, Profile]:
    """Profile of every part of a record."""
    joined: dict[str, set[tuple[str, str]]] = {name: set() for name in record.parts}
    for joint in record.joints.values():
        for one in joint.holds:
            joined[one] |= {(joint.kind, other) for other in joint.holds if other != one}
    roles: Counter[str | None] = Counter(
        part.role for part in record.parts.values() if part.role not in (None, "other")
    )
    called = {name: part.name.casefold() for name, part in record.parts.items()}
    return {
        name: Profile(
            name,
            part,
            frozenset(joined[name]),
            frozenset((kind, called[n]) for kind, n in joined[name]),
            roles[part.role] == 1,
        )
        for name, part in record.parts.items()
    }


def likeness(a: Profile, b: Profile) -> Likeness:
    """Compare two parts; symmetric."""
    if a.part.stays != b.part.stays:
        return Likeness(0.0, ())
    found = [one for one in _reasons(a, b) if one[0]]
    return Likeness(sum(weight for weight, _ in found), tuple(reason for _, reason in found))


def _reasons(a: Profile, b: Profile) -> tuple[tuple[float, str], ...]:
    """Every reason with its weight; 0 where it does not hold."""
    share = _overlap(a.words, b.words)
    role, only = 0.0, a.is_only and b.is_only
    if a.part.role is not None and b.part.role is not None:
        role = OTHER_ROLE if a.part.role != b.part.role else ONLY_ROLE if only else SAME_ROLE
    return (
        (1.0 if a.part.stays else 0.0, "both stay"),
        (SAME_ID if a.id == b.id else 0.0, "same id"),
        (SAME_NAME, "same name") if share == 1 else (NAME * share, "name alike"),
        (role, "other role" if role < 0 else "the only ones of their role" if only else "same role"),
        (SIZE if a.size and b.size and _alike(a.size, b.size) else 0.0, "size alike"),
        (HOLES if a.spans and b.spans and _alike(a.spans, b.spans) else 0.0, "holes alike"),
        (JOINED * max(_overlap(a.joined, b.joined), _overlap(a.joined_names, b.joined_names)), "joined alike"),
    )


def _alike(a: Sequence[float], b: Sequence[float]) -> bool:
    return len(a) == len(b) and all(abs(x - y) <= ALIKE * max(x, y) for x, y in zip(a, b, strict=True))


def _overlap(a: frozenset[Any], b: frozenset[Any]) -> float:
    common = len(a & b)
    return common / (len(a) + len(b) - common) if common else 0.0
