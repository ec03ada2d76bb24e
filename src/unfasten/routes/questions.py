"""Bench questions: is an open cover real? Ranked by how much an answer is expected to narrow a figure.

An answer "it covers" makes the cover real in the low world, "it is clear" drops it from the high world; no other route
can change. Expected means with probability one half each, unless a prior is stated. Work is bounded: every question
gets an estimate (the present high route with what the answer makes needless taken out); the best are searched exactly.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import product
from typing import Final

from unfasten.record.record import Record
from unfasten.routes.opencover import OpenCover
from unfasten.routes.result import Reach, Route
from unfasten.routes.worlds import Answers, Worlds

#: width of a figure under the reaches of its parts, any unit
Width = Callable[[Mapping[str, Reach]], Fraction]
#: probability that a cover is real
Prior = Callable[[OpenCover], Fraction]

#: questions that are searched exactly; beyond that many, the rest is estimated
SEARCHED: Final = 40
#: covers that a quick ranking looks at
QUICK: Final = 3
#: covers of one look for which every combination of answers is tried
COMBINED: Final = 3
#: nominal seconds of search per route after a supposed answer
TRIAL_S: Final = 0.25


@dataclass(frozen=True, slots=True)
class Question:
    """An open cover and what asking is expected to bring.

    `narrows` is the expected loss of width of the figure, `second` that of the figure that decides between equals,
    `critical` the number of routes on which it stands: low ones that the cover would break, high ones that meet it.
    `searched` false: estimated, not searched.
    """

    cover: OpenCover
    narrows: Fraction
    second: Fraction
    critical: int
    searched: bool


def half(cover: OpenCover) -> Fraction:
    """The prior where nothing is stated: one half."""
    return Fraction(1, 2)


class Asker:
    """Ranks the open covers that can matter to `targets` (parts) by the narrowing of `width`.

    Equals are ranked by `second` (the steps of all targets unless given): often two answers narrow only together.
    """

    def __init__(
        self,
        worlds: Worlds,
        targets: Sequence[str],
        width: Width,
        answers: Answers | None = None,
        *,
        second: Width | None = None,
        prior: Prior = half,
        reaches: Mapping[str, Reach] | None = None,
    ) -> None:
        """`reaches`: the targets' routes under `answers`, where they are known already."""
        self.worlds = worlds
        self.answers = answers or Answers()
        self.widths = (width, second or self._spans)
        self.prior = prior
        known = reaches or {}
        self.reaches = {target: known.get(target) or worlds.reach(target, self.answers) for target in targets}
        self.unsettled = [target for target, reach in self.reaches.items() if is_open(reach)]
        self.now = tuple(measure(self.reaches) for measure in self.widths)

    def open(self) -> list[OpenCover]:
        """Covers not answered that can matter to a part whose two routes differ, in the order of the record."""
        matter = frozenset[OpenCover]().union(*(self.worlds.relevant(target) for target in self.unsettled))
        told = self.answers.real | self.answers.clear
        return [cover for cover in self.worlds.covers if cover in matter and cover not in told]

    def rank(self, *, search: bool = True) -> list[Question]:
        """Every question, best first; ties by the second figure, by criticality, then by id.

        Without `search` only the `QUICK` covers on which most routes stand are looked at, and what an answer would
        narrow is estimated by pruning the routes that are known.
        """
        if not search:
            critical = sorted(self.open(), key=lambda cover: (-self._routes_on(cover), cover))[:QUICK]
            return sorted((self._question(cover, search=False) for cover in critical), key=_order)
        first = sorted((self._question(cover, search=False) for cover in self.open()), key=_order)
        return sorted([self._question(q.cover, search=True) for q in first[:SEARCHED]] + first[SEARCHED:], key=_order)

    def narrows(self, covers: Sequence[OpenCover]) -> Fraction | None:
        """Expected narrowing of the figure by one look that answers for all `covers`; None for too many of them."""
        if len(covers) > COMBINED:
            return None
        expected = Fraction(0)
        for truth in product((False, True), repeat=len(covers)):
            answers, chance = self.answers, Fraction(1)
            for cover, real in zip(covers, truth, strict=True):
                answers = answers.told(cover, real=real)
                chance *= self.prior(cover) if real else 1 - self.prior(cover)
            reaches = {t: self._after(t, answers, covers, search=True) for t in self.unsettled}
            expected += chance * self.widths[0]({**self.reaches, **reaches})
        return self.now[0] - expected

    def _question(self, cover: OpenCover, *, search: bool) -> Question:
        chance = self.prior(cover)
        losses = [Fraction(0), Fraction(0)]
        touched = [target for target in self.unsettled if cover in self.worlds.relevant(target)]
        for real, weight in ((True, chance), (False, 1 - chance)):
            answers = self.answers.told(cover, real=real)
            reaches = {target: self._after(target, answers, [cover], search=search) for target in touched}
            for number, measure in enumerate(self.widths):
                losses[number] += weight * (self.now[number] - measure({**self.reaches, **reaches}))
        critical = sum(self._stands_on(target, cover) for target in touched)
        return Question(cover, losses[0], losses[1], critical, search)

    def _routes_on(self, cover: OpenCover) -> int:
        touched = (target for target in self.unsettled if cover in self.worlds.relevant(target))
        return sum(self._stands_on(target, cover) for target in touched)

    def _stands_on(self, target: str, cover: OpenCover) -> int:
        low, high = self.reaches[target].low, self.reaches[target].high
        breaks = low is not None and bool(self.worlds.breaking(low, [cover]))
        return breaks + (high is not None and meets(high, cover))

    def _after(self, target: str, answers: Answers, covers: Sequence[OpenCover], *, search: bool) -> Reach:
        """The reach after supposed answers about `covers`; without search the high route is only pruned."""
        old, worlds = self.reaches[target], self.worlds
        if old.low is None:
            return old
        new = old
        real = [cover for cover in covers if cover in answers.real]
        if worlds.breaking(old.low, real):
            new = replace(new, low=worlds.route(target, answers.real, TRIAL_S))
        clear = [cover for cover in covers if cover in answers.clear and cover in worlds.relevant(target)]
        if clear:
            new = replace(new, high=self._lower_high(target, answers, old.high, search=search))
        return new if new.high is None else replace(new, reason=None)

    def _lower_high(self, target: str, answers: Answers, old: Route | None, *, search: bool) -> Route | None:
        most = self.worlds.most(target, answers)
        if search or old is None:
            found = self.worlds.route(target, most, TRIAL_S)
            if found is None or found.proven or old is None or found.steps <= old.steps:
                return found
        return self.worlds.pruned(old, most)

    def _spans(self, reaches: Mapping[str, Reach]) -> Fraction:
        ends = [span_of(reach, self.worlds.record) for reach in reaches.values()]
        return Fraction(sum(high - low for low, high in ends))


def is_open(reach: Reach) -> bool:
    """Tell whether an open cover may still change the part's route."""
    if reach.low is None:
        return False
    return reach.high is None or reach.low.actions != reach.high.actions or not reach.low.proven


def span_of(reach: Reach, record: Record) -> tuple[int, int]:
    """Steps from the least not excluded to the most; no route counts one more than any route could take."""
    none = most_steps(record) + reach.additions.high + 1
    if reach.low is None:
        return none, none
    low = reach.low.steps if reach.low.proven else -int(-reach.low.bound // 1)
    return low + reach.additions.low, none if reach.steps_high is None else reach.steps_high


def most_steps(record: Record) -> int:
    """Steps that no route can exceed: every joint by its costliest way and every lift and swing, one by one."""
    lifts = [part.lift for part in record.parts.values() if part.lift is not None]
    lifts += [bundle.lift for bundle in record.bundles.values()] + [swing.lift for swing in record.swings.values()]
    ways = (
        max(len(way.tools) + sum(max(1, len(p.tools)) for p in way.prepare) for way in joint.ways)
        for joint in record.joints.values()
    )
    return sum(ways) + sum(len(lift.tools) for lift in lifts) + len(record.parts) + 2 * len(lifts)


def meets(route: Route, cover: OpenCover) -> bool:
    """Tell whether the route does the event that the cover may hinder, and by the way in question."""
    do = "release" if cover.kind == "joint" else "lift"
    return any((a.do, a.id, a.way) == (do, cover.id, cover.way) for a in route.actions)


def _order(question: Question) -> tuple[Fraction, Fraction, int, OpenCover]:
    return -question.narrows, -question.second, -question.critical, question.cover
