"""One product with a hidden truth, and the state of a game of questions about it (see questions.py)."""

from __future__ import annotations

import random
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from fractions import Fraction
from typing import Any

from realistic import realistic_tree
from unfasten.record.record import Record
from unfasten.routes.cost import cost
from unfasten.routes.opencover import OpenCover, taken_as_real
from unfasten.routes.problem import compile_problem
from unfasten.routes.prune import prune
from unfasten.routes.questions import meets
from unfasten.routes.result import Reach, Route
from unfasten.routes.worlds import Answers, Worlds
from unfasten.service.askfigure import IndexFigure

DAY = date(2026, 6, 1)
#: nominal seconds of search per route; what that leaves unproven is only a longer high route, so more questions
SEARCH_S = 0.01
#: answers after which a high route that was only pruned is searched again: in general, and with no question on it
AGAIN = 40
AGAIN_IDLE = 6
#: covers in the way of the low route up to which another route of equal steps is looked for
FEW = 2
#: priority parts of a product that has few
FEW_ROLES = ("battery", "display-assembly", "back-cover")


@dataclass(frozen=True)
class Product:
    """A record without its open covers, the truth about them, and the number of all pairs of way and part before it."""

    worlds: Worlds
    truth: frozenset[OpenCover]
    pairs: int
    events: int


def product(joints: int, true_share: Fraction, false_share: Fraction, *, seed: int, few: bool = False) -> Product:
    """Hide the covers of a made record; `true_share` of them, and `false_share` of what is clear, are known.

    With `few`, only battery, display assembly and back cover are priority parts.
    """
    tree = realistic_tree(joints, seed, partial=0.0)
    for part in tree["parts"].values() if few else ():
        if part.get("role") not in FEW_ROLES:
            part.pop("role", None)
    rng = random.Random(seed * 1009 + 7)
    truth, pairs = set(), 0
    for name, seen in _passed(tree).items():
        for number, way in enumerate(tree["joints"][name]["ways"]):
            under = way.setdefault("under", [])
            choices = {part for clause in under if not isinstance(clause, str) for part in clause}
            may = [part for part in seen if part not in choices and part not in tree["joints"][name]["holds"]]
            pairs += len(may)
            real = [part for part in may if part in under]
            hidden = [part for part in real if rng.random() >= true_share]
            way["under"] = [clause for clause in under if clause not in hidden]
            way["survey"] = "partial"
            way["clear_of"] = [part for part in may if part not in real and rng.random() < false_share]
            truth |= {OpenCover("joint", name, number, part) for part in hidden}
    worlds = Worlds(Record.model_validate(tree), budget_s=SEARCH_S)
    return Product(worlds, frozenset(truth), pairs, len(tree["joints"]) + len(tree["parts"]) - 1)


def _clearing(record: Record, number: dict[tuple[str, str], int], part: str) -> int:
    events = [("lift", part)]
    events += [("lift", name) for name, bundle in record.bundles.items() if part in bundle.parts]
    events += [("swing", name) for name, swing in record.swings.items() if swing.part == part]
    return sum(1 << number[event] for event in events if event in number)


def _passed(tree: dict[str, Any]) -> dict[str, list[str]]:
    out: dict[str, list[str]] = {}
    seen: list[str] = []
    for entry in tree["log"]:
        if entry["do"] == "lift":
            seen.append(entry["part"])
        else:
            out[entry["joint"]] = list(seen)
    return out


def span(reach: Reach) -> int:
    """Steps between the low and the high route; both exist in a made record."""
    assert reach.low is not None
    assert reach.high is not None
    return reach.high.steps - reach.low.steps


def settled_after(of: Product, target: str, order: Sequence[OpenCover]) -> int:
    """How many of these questions, in this order, make the steps of a part exact."""
    worlds = of.worlds

    def is_exact(count: int) -> bool:
        answers = told(of, order[:count])
        low = worlds.route(target, answers.real)
        assert low is not None
        breaking = worlds.breaking(low, worlds.most(target, answers) - answers.real)
        return not breaking or (len(breaking) <= FEW and span(worlds.reach(target, answers)) == 0)

    return _least(len(order), is_exact)


def class_after(of: Product, order: Sequence[OpenCover]) -> int:
    """How many of these questions, in this order, leave one class."""
    game = Game(of)

    def is_known(count: int) -> bool:
        answers = told(of, order[:count])
        low, high = game.grade({target: of.worlds.reach(target, answers) for target in game.targets})
        return low == high

    return _least(len(order), is_known)


def told(of: Product, covers: Iterable[OpenCover]) -> Answers:
    """The true answers to these questions."""
    asked = frozenset(covers)
    return Answers(asked & of.truth, asked - of.truth)


def unavoidable(of: Product) -> frozenset[OpenCover]:
    """Questions that nobody can spare: each alone, if its cover were real after all, would make a true route longer.

    As long as one of them is not asked, the high route of that part is longer than the low one.
    """
    found: set[OpenCover] = set()
    for target in Game(of).targets:
        route = of.worlds.route(target, of.truth)
        assert route is not None
        for cover in of.worlds.breaking(route, of.worlds.relevant(target) - of.truth):
            if cover not in found:
                longer = of.worlds.route(target, of.truth | {cover})
                if longer is None or longer.bound > route.steps:
                    found.add(cover)
    return frozenset(found)


def _least(most: int, is_enough: Callable[[int], bool]) -> int:
    """The least number that is enough, by halving; all of them if none less is."""
    low, high = 0, most
    while low < high:
        middle = (low + high) // 2
        low, high = (low, middle) if is_enough(middle) else (middle + 1, high)
    return low


class Game:
    """What is known of a product so far. High routes are pruned after each answer and searched now and then."""

    def __init__(self, of: Product) -> None:
        self.of, self.worlds, self.answers = of, of.worlds, Answers()
        self.figure = IndexFigure(self.worlds.record, DAY)
        self.targets = self.figure.targets
        self.reaches = {target: self.worlds.reach(target, self.answers) for target in self.targets}
        self.stale = dict.fromkeys(self.targets, 0)
        self._met: dict[str, tuple[Route, list[OpenCover]]] = {}
        self._blocks: dict[tuple[str, object], tuple[OpenCover, ...]] = {}
        self._gains: dict[str, tuple[Route, dict[str, tuple[Fraction, int]]]] = {}

    def tell(self, cover: OpenCover) -> None:
        """Answer a question by the truth."""
        real = cover in self.of.truth
        self.answers = self.answers.told(cover, real=real)
        for target, reach in self.reaches.items():
            if reach.low != reach.high and cover in self.worlds.relevant(target):
                self._update(target, cover, real=real)

    def open_targets(self) -> list[str]:
        """Parts whose steps are not exact."""
        return [target for target in self.targets if self.span(target)]

    def span(self, target: str) -> int:
        """Steps between the low and the high route."""
        return span(self.reaches[target])

    def open(self) -> list[OpenCover]:
        """Questions that were not answered."""
        told = self.answers.real | self.answers.clear
        return [cover for cover in self.worlds.covers if cover not in told]

    def matter(self) -> list[OpenCover]:
        """Questions that can matter to a part that is not exact."""
        near = frozenset[OpenCover]().union(*(self.worlds.relevant(target) for target in self.open_targets()))
        return [cover for cover in self.open() if cover in near]

    def critical(self) -> dict[OpenCover, list[str]]:
        """Questions on the high routes, each with the parts whose route would be shorter but for open covers only."""
        found: dict[OpenCover, list[str]] = {}
        for target in self.open_targets():
            for cover in self._critical_to(target):
                found.setdefault(cover, []).append(target)
        return found

    def _critical_to(self, target: str) -> list[OpenCover]:
        gains = self.gains(target)
        return [cover for cover in self._on_route(target) if gains[cover.cover][0] > 0]

    def blocking(self) -> dict[OpenCover, list[str]]:
        """Questions whose cover would break a low route, each with the parts in question."""
        found: dict[OpenCover, list[str]] = {}
        for target in self.open_targets():
            route = self.reaches[target].low
            assert route is not None
            key = target, route.actions
            if key not in self._blocks:
                self._blocks[key] = self.worlds.breaking(route, self.worlds.relevant(target))
            for cover in self._blocks[key]:
                if cover not in self.answers.real and cover not in self.answers.clear:
                    found.setdefault(cover, []).append(target)
        return found

    def gains(self, target: str) -> dict[str, tuple[Fraction, int]]:
        """For each part that open covers alone keep on the high route: steps saved without them, and their number."""
        route = self.reaches[target].high
        assert route is not None
        if target not in self._gains or self._gains[target][0] is not route:
            self._gains[target] = route, dict(self._gain(target, route))
        return self._gains[target][1]

    def _gain(self, target: str, route: Route) -> Iterator[tuple[str, tuple[Fraction, int]]]:
        """An estimate, with clauses that a bundle or swing may meet although it does not clear the part here."""
        record = self.worlds.cut(target)
        problem = compile_problem(record, taken_as_real(self.answers.real & self.worlds.relevant(target)))
        number = {(event.kind, event.id): index for index, event in enumerate(problem.events)}
        users: dict[str, list[OpenCover]] = {}
        for cover in self._on_route(target):
            users.setdefault(cover.cover, []).append(cover)
        for part in users:
            more: dict[int, list[int]] = {}
            for cover in (c for other, covers in users.items() if other != part for c in covers):
                more.setdefault(number[cover.event], []).append(_clearing(record, number, cover.cover))
            saved = route.steps - cost(record, prune(problem, route, more))[0]
            yield part, (Fraction(saved), len(users[part]))

    def _on_route(self, target: str) -> list[OpenCover]:
        route = self.reaches[target].high
        assert route is not None
        if target not in self._met or self._met[target][0] is not route:
            ways = {(a.id, a.way) for a in route.actions if a.do == "release"}
            met = [c for c in sorted(self.worlds.relevant(target)) if (c.id, c.way) in ways]
            self._met[target] = route, met
        told = self.answers.real | self.answers.clear
        return [cover for cover in self._met[target][1] if cover not in told]

    def _update(self, target: str, cover: OpenCover, *, real: bool) -> None:
        reach = self.reaches[target]
        assert reach.low is not None
        assert reach.high is not None
        if real:
            self._gains.pop(target, None)  # the part has to come out now: other covers by it matter no more
            if self.worlds.breaking(reach.low, [cover]):
                reach = replace(reach, low=self.worlds.route(target, self.answers.real))
        elif self._loosens(target, cover):
            high = self.worlds.pruned(reach.high, self.worlds.most(target, self.answers))
            reach = replace(reach, high=high if high.steps < reach.high.steps else reach.high)
        self.reaches[target] = reach
        self.stale[target] += 1
        if reach.low != reach.high and self._is_due(target):
            self._search(target)

    def _is_due(self, target: str) -> bool:
        """Whether the high route should be searched again, rather than only pruned."""
        if not self.span(target) or not self.worlds.most(target, self.answers) - self.answers.real:
            return True
        return self.stale[target] >= (AGAIN if self._critical_to(target) else AGAIN_IDLE)

    def _loosens(self, target: str, cover: OpenCover) -> bool:
        """Whether a clear cover makes the high route shorter; otherwise one user of its part fewer is left."""
        route = self.reaches[target].high
        if route is None or not meets(route, cover):
            return False
        gains = self.gains(target)
        saved, users = gains.get(cover.cover, (Fraction(0), 0))
        gains[cover.cover] = saved, max(users - 1, 1)
        return saved > 0 and users <= 1

    def _search(self, target: str) -> None:
        reach, self.stale[target] = self.reaches[target], 0
        most = self.worlds.most(target, self.answers)
        assert reach.low is not None
        is_free = not self.worlds.breaking(reach.low, most - self.answers.real)
        found = reach.low if is_free else self.worlds.route(target, most)
        assert found is not None
        assert reach.high is not None
        if found.steps < reach.high.steps or is_free:
            self.reaches[target] = replace(reach, high=found)

    def grade(self, reaches: dict[str, Reach] | None = None) -> tuple[str, str]:
        """Class of the lowest and of the highest index."""
        verdict = self.figure.verdict(self._proven(reaches or self.reaches))
        assert verdict.grade is not None
        return verdict.grade.low, verdict.grade.high

    def width(self, reaches: dict[str, Reach]) -> Fraction:
        """Width of the index in points."""
        return self.figure.points(self._proven(reaches))

    def _proven(self, reaches: dict[str, Reach]) -> dict[str, Reach]:
        """High routes stand for themselves: where one is not proven, a shorter one may come later."""
        out = {}
        for target, reach in reaches.items():
            assert reach.high is not None
            out[target] = replace(reach, high=replace(reach.high, proven=True, bound=Fraction(reach.high.steps)))
        return out
