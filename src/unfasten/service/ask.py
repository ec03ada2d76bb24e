"""Asking: which bench questions about open covers are worth an answer, for one figure."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from fractions import Fraction
from itertools import islice
from typing import Final

from unfasten.record.fold import fold_log
from unfasten.record.joint import Joint
from unfasten.record.record import Record
from unfasten.routes.opencover import OpenCover
from unfasten.routes.outcomes import Outcome, outcomes
from unfasten.routes.questions import Asker, Question
from unfasten.routes.result import Reach
from unfasten.routes.worlds import Worlds
from unfasten.service.askfigure import Figure, Shown, StepsFigure, figure_for
from unfasten.service.askwords import look_text, question_text
from unfasten.service.report_words import listing

#: outcomes that are looked at before it is left open whether the figure is settled
OUTCOMES: Final = 400


@dataclass(frozen=True, slots=True)
class Asked:
    """A question in words, with the look it belongs to and whether it is best tried while the product is open."""

    question: Question
    text: str
    while_open: bool

    def as_json(self) -> dict[str, object]:
        """Give the JSON form; `yes_means` and `no_means` are the keys that an answer adds to."""
        cover = self.question.cover
        out: dict[str, object] = {"text": self.text, cover.kind: cover.id}
        if cover.way is not None:
            out["way"] = cover.way
        return out | {
            "cover": cover.cover,
            "narrows": number(self.question.narrows),
            "narrows_second": number(self.question.second),
            "routes": self.question.critical,
            "estimated": not self.question.searched,
            "while_open": self.while_open,
            "group": cover.place,
            "yes_means": "clear_of",
            "no_means": "under" if cover.kind == "joint" else "behind",
        }


@dataclass(frozen=True, slots=True)
class Look:
    """Questions that one look answers. `exact` false: it narrows by at least so much."""

    place: str
    text: str
    questions: tuple[Asked, ...]
    narrows: Fraction
    exact: bool

    def as_json(self) -> dict[str, object]:
        """Give the JSON form."""
        cover = self.questions[0].question.cover
        out: dict[str, object] = {"group": self.place, "text": self.text, cover.kind: cover.id}
        if cover.way is not None:
            out["way"] = cover.way
        return out | {
            "covers": [asked.question.cover.cover for asked in self.questions],
            "narrows": number(self.narrows),
            "at_least": not self.exact,
            "while_open": any(asked.while_open for asked in self.questions),
        }


@dataclass(frozen=True, slots=True)
class Asking:
    """The questions for one figure, best first, the looks that answer them, and whether the figure is settled."""

    name: str
    figure: Shown
    questions: tuple[Asked, ...]
    looks: tuple[Look, ...]
    settled: bool
    reason: str

    def as_json(self) -> dict[str, object]:
        """Give the JSON that other programs rely on."""
        return {
            "questions": [asked.as_json() for asked in self.questions],
            "groups": [look.as_json() for look in self.looks],
            "figure": {"name": self.name, "low": self.figure.low, "high": self.figure.high},
            "settled": self.settled,
            "reason": self.reason,
        }


def ask(record: Record, on: date, figure: str = "index", limit: int | None = None) -> Asking:
    """Rank the bench questions for a figure: `index`, `class`, or the id of a part (its steps).

    Raises `CallError` for an unknown part, and for index or class where the rules do not apply.
    """
    folded = fold_log(record)
    wanted = figure_for(folded, figure, on)
    worlds = Worlds(folded)
    asker = Asker(worlds, wanted.targets, lambda reaches: wanted.shown(reaches).width, second=wanted.second)
    shown = wanted.shown(asker.reaches)
    settled, reason = _settled(worlds, wanted, asker, shown)
    ranked = [] if settled else asker.rank()
    asked = [Asked(q, question_text(folded, q.cover), is_while_open(folded, q.cover)) for q in ranked]
    asked.sort(key=lambda one: (one.question.narrows <= 0, one.question.narrows > 0 and not one.while_open))
    looks = _looks(folded, asker, asked)
    return Asking(wanted.name, shown, tuple(asked[:limit]), tuple(looks[:limit]), settled, reason)


def is_while_open(record: Record, cover: OpenCover) -> bool:
    """Tell whether trying it later costs more than a look.

    True where doing up again what the question is about, or the cover, takes new material or destroys something (a
    joint whose reuse is anything but `reusable`, or is not known). What can be done up and undone freely can be tried
    on reassembly, when the cover goes back, or at any later time.
    """
    if cover.kind == "joint":
        joints = [record.joints[cover.id]]
    else:
        own = {cover.id} if cover.kind == "part" else set(record.bundles[cover.id].parts)
        joints = [joint for joint in record.joints.values() if own & set(joint.holds) and not own >= set(joint.holds)]
    joints += [joint for joint in record.joints.values() if cover.cover in joint.holds]
    return not all(map(_is_free, joints))


def number(value: Fraction) -> int | float:
    """The value as a JSON number; narrowings are halves or decimals, whose text is exact."""
    return value.numerator if value.denominator == 1 else float(value)


def _is_free(joint: Joint) -> bool:
    return joint.reuse == "reusable"


def _looks(record: Record, asker: Asker, asked: Sequence[Asked]) -> list[Look]:
    """The same questions by the place they are about, the best look first."""
    places: dict[str, list[Asked]] = {}
    for one in asked:
        places.setdefault(one.question.cover.place, []).append(one)
    looks = []
    for place, group in places.items():
        covers = [one.question.cover for one in group]
        best = max(one.question.narrows for one in group)
        together = best if len(group) == 1 else asker.narrows(covers)
        narrows = max(best, Fraction(0)) if together is None else together
        looks.append(Look(place, look_text(record, covers), tuple(group), narrows, together is not None))
    order = {place: number for number, place in enumerate(places)}
    urgent = {look.place: look.narrows > 0 and any(one.while_open for one in look.questions) for look in looks}
    return sorted(looks, key=lambda k: (k.narrows <= 0, not urgent[k.place], -k.narrows, order[k.place]))


def _pairing(asker: Asker) -> str:
    """What no question about a cover can settle: the pairing that swap tests leave open."""
    parts = [name for name, reach in asker.reaches.items() if reach.additions.low != reach.additions.high]
    return f"; swap tests leave open which pairing {listing(parts)} needs (unfasten swaps)" if parts else ""


def _settled(worlds: Worlds, figure: Figure, asker: Asker, shown: Shown) -> tuple[bool, str]:
    """Whether no set of answers can change the figure as it is shown, and why."""
    if not asker.open():
        unproven = [t for t, r in asker.reaches.items() if r.low is not None and not r.low.proven]
        if unproven:
            return True, f"no cover is open; the search for {', '.join(unproven)} was not finished"
        return True, "no cover is open that can matter to it" + _pairing(asker)
    if isinstance(figure, StepsFigure):
        if shown.is_known:
            return True, f"{shown.low} steps whatever the open covers turn out to be"
        (reach,) = asker.reaches.values()
        if reach.low and reach.high and reach.low.proven and reach.low.steps == reach.high.steps:
            return True, f"{_text(shown)} whatever the open covers turn out to be" + _pairing(asker)
        return False, _reason(shown, len(asker.open()))
    asked = frozenset(asker.open())
    seen = 0
    for outcome in islice(outcomes(worlds, figure.targets, asked), OUTCOMES):
        seen += 1
        then = figure.shown(_reaches(asker, outcome))
        if (then.low, then.high) != (shown.low, shown.high):
            return False, _reason(shown, len(asked))
    if seen < OUTCOMES:
        return True, f"{_text(shown)} whatever the {len(asked)} open covers turn out to be" + _pairing(asker)
    return False, f"{_text(shown)} in the first {OUTCOMES} outcomes looked at; not all were"


def _reaches(asker: Asker, outcome: Outcome) -> dict[str, Reach]:
    return {t: replace(reach, low=outcome[t], high=outcome[t], reason=None) for t, reach in asker.reaches.items()}


def _reason(shown: Shown, count: int) -> str:
    return f"{_text(shown)}: {count} open cover{'' if count == 1 else 's'} can matter"


def _text(shown: Shown) -> str:
    return f"{shown.low}" if shown.is_known else f"{shown.low} to {'no route' if shown.high is None else shown.high}"
