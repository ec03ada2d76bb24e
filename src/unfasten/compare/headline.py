"""The headlines of a comparison: like differences together, what follows from another below it, in a stated order."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Final

from unfasten.compare.difference import Difference, Effect

#: the rule of the order, as it is printed above the list
ORDER_RULE: Final = (
    "Headlines stand in the order of their consequence for repair: 1 hazards, pairing and what the maker offers; "
    "2 index and scores; 3 depth and time to priority parts; 4 how parts are fastened, as far as it can be undone; "
    "5 what keeps parts from being exchanged (holes, connectors, cables, batteries); 6 parts new, gone, merged, split, "
    "moved or covered otherwise; 7 drives, threads, counts and tools; 8 sizes, masses, markings and single work times. "
    "Within a place: priority parts first, then the greater difference, then by id. The order is our own choice."
)
TIERS: Final = {
    1: "hazards, pairing, offers",
    2: "index and scores",
    3: "depth and time",
    4: "fastening",
    5: "exchange",
    6: "structure",
    7: "drives and tools",
    8: "sizes and markings",
}


@dataclass(frozen=True, slots=True)
class Headline:
    """Like differences, told as one; `follows` are what they bring with them."""

    tier: int
    differences: tuple[Difference, ...]
    follows: tuple[Difference, ...]
    names: tuple[str, ...]

    @property
    def lead(self) -> Difference:
        """The difference that speaks for the group."""
        return self.differences[0]

    @property
    def effect(self) -> Effect:
        """Whether repair gets harder or easier; `neither` where the group does not agree."""
        effects = {one.effect for one in self.differences}
        return effects.pop() if len(effects) == 1 else "neither"


def headlines(
    differences: Sequence[Difference], priority: frozenset[str], name: Callable[[Difference], str]
) -> tuple[Headline, ...]:
    """Group and order the differences; `priority` are the common names of priority parts.

    Every difference stands in exactly one headline. `name` gives the name of what a difference is about.
    """
    ordered = sorted(differences, key=lambda one: _rank(one, priority))
    causes = {id(one): cause for one in ordered if (cause := _cause(one, ordered)) is not None}
    groups: dict[tuple[object, ...], list[Difference]] = {}
    for one in ordered:
        if id(one) not in causes:
            groups.setdefault(_group(one), []).append(one)
    out = []
    for group in groups.values():
        led = {id(one) for one in group}
        follows = tuple(one for one in ordered if id(one) in causes and id(_root(one, causes)) in led)
        names = tuple(dict.fromkeys(name(one) for one in group))
        out.append(Headline(min(one.tier for one in group), tuple(group), follows, names))
    return tuple(sorted(out, key=lambda one: _rank(one.lead, priority)))


def _root(one: Difference, causes: dict[int, Difference]) -> Difference:
    while id(one) in causes:
        one = causes[id(one)]
    return one


def _rank(one: Difference, priority: frozenset[str]) -> tuple[object, ...]:
    return one.tier, not (set(one.owners) & priority), -one.magnitude, one.key, sorted((one.before, one.after))


def _group(one: Difference) -> tuple[object, ...]:
    """What two differences must share to be told as one."""
    if one.kind == "changed" and one.what.startswith("battery."):
        return "battery", one.about
    if one.kind in ("re-fastened", "changed", "hazard", "paired") and one.measured is None:
        return one.kind, one.what, one.before, one.after
    if one.kind == "re-routed" and one.what != "depth":
        return one.kind, one.what, one.effect
    return one.kind, one.what, one.about


#: kinds of what a difference may follow from, and the test; the first that finds a cause counts
_Test = Callable[[Difference, Difference], bool]


def _cause(one: Difference, every: Iterable[Difference]) -> Difference | None:
    """The difference that this one follows from; None where it stands for itself."""
    for test in _tests(one):
        for cause in every:
            if cause is not one and test(one, cause):
                return cause
    return None


def _tests(one: Difference) -> tuple[_Test, ...]:
    if one.kind == "changed":
        return _CHANGED.get(one.what, ())
    if one.kind == "re-fastened":
        return _FASTENED.get(one.what, ())
    if one.kind == "re-scored" and one.what != "index":
        return (lambda _, cause: cause.kind == "re-scored" and cause.what == "index",)
    if one.kind == "re-routed" and one.what != "depth":
        return (_same_route,)
    if one.kind in ("new", "gone"):
        return (_sits_on,)
    return ()


def _owned(kinds: tuple[str, ...], whats: tuple[str, ...] = ()) -> _Test:
    """A test for a cause of these kinds about one of the same parts."""

    def test(one: Difference, cause: Difference) -> bool:
        fits = cause.kind in kinds and (not whats or cause.what in whats)
        return fits and bool(set(one.owners) & set(cause.owners))

    return test


def _sits_on(one: Difference, cause: Difference) -> bool:
    """A part that sits only on parts of which one was split off or merged."""
    return cause.kind in _UNION and bool(set(one.hosts) & set(cause.owners))


def _same_route(one: Difference, cause: Difference) -> bool:
    """Time follows from depth, tools from depth or time, of the same part."""
    before = ("depth",) if one.what == "time" else ("depth", "time")
    return cause.kind == "re-routed" and cause.what in before and cause.about == one.about


def _same_joint(one: Difference, cause: Difference) -> bool:
    return cause.kind == "re-fastened" and cause.what in ("preparation", "ways") and cause.about == one.about


_UNION: Final = ("merged", "split")
_CHANGED: Final[dict[str, tuple[_Test, ...]]] = {
    "role": (_owned(_UNION),),
    "mass": (_owned(_UNION), _owned(("changed",), ("size",)), _owned(("changed",), ("cable.length",))),
    "components": (_owned(_UNION),),
    "cable.needed": (_owned(("changed",), ("cable.length",)),),
    "name": (_owned(("re-fastened",), ("kind",)),),
}
_FASTENED: Final[dict[str, tuple[_Test, ...]]] = {
    "count": (_owned(("merged", "split")), _owned(("re-fastened",), ("kind",))),
    "tools": (_owned(("changed",), ("cable.connector",)),),
    "joint": (_owned(("swings",)),),
    "time": (_same_joint,),
}
