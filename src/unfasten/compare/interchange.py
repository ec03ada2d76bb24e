"""Does a part of one model serve in the place of a part of another? Every criterion, the verdict, what to do next."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Final, Literal

from unfasten.compare.conform import Rule
from unfasten.compare.criterion import Criterion, Verdict
from unfasten.compare.electric import cable_reach, connector, connector_place, label, software
from unfasten.compare.geometry import envelope, fastening, hole_sizes, mass, pattern
from unfasten.compare.place import Exchange

Answer = Literal["fits", "fits with change", "does not fit", "not shown"]
CRITERIA: Final[tuple[Callable[[Exchange, Rule], Criterion], ...]] = (
    envelope, mass, pattern, hole_sizes, fastening, connector, connector_place, cable_reach, label, software,
)  # fmt: skip
#: criteria that a part which went in by hand has met, whatever was measured
BY_HAND: Final = frozenset(
    {"envelope", "hole pattern", "hole sizes", "fastening", "connector", "connector place", "cable reach"}
)


@dataclass(frozen=True, slots=True)
class Interchange:
    """The verdict on one exchange. `contradiction`: a swap test and a measurement do not agree."""

    exchange: Exchange
    rule: Rule
    answer: Answer
    criteria: tuple[Criterion, ...]
    contradiction: str | None = None

    @property
    def worst(self) -> Criterion:
        """The criterion that decides; of equal verdicts shape comes before a test under power, as in `next`."""
        counting = (one for one in self.criteria if not one.informs)
        return min(counting, key=lambda one: (one.rank[0], one.name == "software", one.rank))

    @property
    def next(self) -> str | None:
        """What to measure or test next; None where the answer is given. Shape comes before a test under power."""
        if self.answer != "not shown":
            return None
        ordered = sorted(self.criteria, key=lambda one: (one.name == "software", one.rank))
        return next((one.measure for one in ordered if one.measure and not one.informs), None)


def interchange(exchange: Exchange, rule: Rule | None = None) -> Interchange:
    """Judge an exchange by all criteria.

    One criterion against it: does not fit. Else one open: not shown. Else one that asks for a change: fits with change.
    A swap test in which the part went in decides criteria of shape that are open; it never overrules a measurement.
    """
    chosen = rule or Rule()
    found = [criterion(exchange, chosen) for criterion in CRITERIA]
    told, contradiction = _by_test(exchange, found)
    verdicts = {one.verdict for one in told if not one.informs}
    answer: Answer = "fits"
    if "against" in verdicts:
        answer = "does not fit"
    elif "open" in verdicts or verdicts == {"not-applicable"}:
        answer = "not shown"
    elif "change" in verdicts:
        answer = "fits with change"
    return Interchange(exchange, chosen, answer, tuple(told), contradiction)


def _by_test(exchange: Exchange, found: list[Criterion]) -> tuple[list[Criterion], str | None]:
    tried = {name: test for name, test in exchange.tests.items() if test.fitted is not None}
    if not tried:
        return found, None
    name, test = list(tried.items())[-1]
    at = (f"{exchange.host.product.id}: swap_tests.{name}",)
    if test.fitted == "does-not-fit":
        tested = Criterion("tried", "against", "it did not go in", evidence=at, by_test=name)
        return [*found, tested], None
    verdict: Verdict = "shown" if test.fitted == "fits" else "change"
    said = "it went in" if verdict == "shown" else "it went in with a change"
    tested = Criterion("tried", verdict, said, evidence=at, by_test=name)
    against = [one.name for one in found if one.verdict == "against" and one.name in BY_HAND]
    told = [
        replace(one, verdict=verdict, measure=None, by_test=name, says=f"{one.says}; {said} ({name})")
        if one.verdict == "open" and one.name in BY_HAND
        else one
        for one in found
    ]
    clash = f"{', '.join(against)} against it, and yet {said} ({name}): look again" if against else None
    return [*told, tested], clash
