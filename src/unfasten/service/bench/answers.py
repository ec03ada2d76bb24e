"""Live answers: what the record as it stands means, kept up to date entry by entry."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from threading import Lock
from typing import Any, Final

from unfasten.record.check import check_record
from unfasten.record.finding import Finding
from unfasten.record.fold import fold_log
from unfasten.record.read import read_tree
from unfasten.record.record import Record
from unfasten.routes.keep import Keeper
from unfasten.routes.result import Reach
from unfasten.rules.assessment import Assessment
from unfasten.service.assess import assess
from unfasten.service.bench.expected import Change, Expected, changes, expected_lines
from unfasten.service.bench.present import Present, present
from unfasten.service.bench.questions import Asked, asked

#: most search for one route while somebody waits [s, nominal]
BUDGET_S: Final = 0.3
QUESTIONS: Final = 5
#: a draft record lacks much by nature; these findings are left to the check
_QUIET: Final = ("record.no-", "record.not-reached")


@dataclass(frozen=True, slots=True)
class Answers:
    """What is known after entry `seq`. `record` None: the tree is not a valid record yet, `findings` say why."""

    seq: int
    tree: Mapping[str, Any]
    present: Present
    record: Record | None
    findings: tuple[Finding, ...]
    reaches: Mapping[str, Reach] = field(default_factory=dict)
    times: Mapping[str, Reach] = field(default_factory=dict)
    assessment: Assessment | None = None
    expected: tuple[Expected, ...] = ()
    changes: tuple[Change, ...] = ()
    unsure: frozenset[str] = frozenset()
    questions: tuple[Asked, ...] | None = None


class Assessor:
    """Keeps the routes between entries, so that only what an entry can change is searched anew."""

    def __init__(self, on: date) -> None:
        self.on = on
        self._keeper = Keeper(BUDGET_S)
        self._lock = Lock()
        self._last: Answers | None = None
        self._questions: tuple[Asked, ...] = ()

    def answers(
        self, seq: int, tree: Mapping[str, Any], before: Mapping[str, Any], unsure: frozenset[str] = frozenset()
    ) -> Answers:
        """The answers for a tree as it stands after entry `seq`."""
        with self._lock:
            if self._last is not None and self._last.seq == seq:
                return self._last
            reading = read_tree(tree)
            found, reaches, times, assessment = reading.findings, {}, {}, None
            if reading.record is not None:
                found = check_record(reading.record)
                kept = self._keeper.update(fold_log(reading.record))
                reaches, times = dict(kept["steps"]), dict(kept["time"])
                assessment = assess(reading.record, reaches, self.on, effects=False)
            self._last = Answers(
                seq,
                tree,
                present(tree),
                reading.record,
                found,
                reaches,
                times,
                assessment,
                tuple(expected_lines(tree, before)),
                tuple(changes(tree, before)) if before else (),
                unsure,
            )
            return self._last

    def questions(self, answers: Answers, *, search: bool = True) -> tuple[Asked, ...]:
        """The best bench questions for the index, or where there is none for the steps to a battery; best first.

        Without `search` their order is estimated: quick, for the moment after an entry.
        """
        from unfasten.service.bench.ranked import ranked

        if answers.record is None:
            return ()
        with self._lock:
            folded = fold_log(answers.record)
            found = [
                asked(folded, one.cover, one.text, one.narrows, while_open=one.while_open)
                for one in ranked(folded, answers.reaches, self.on, search=search)
            ]
            self._questions = tuple(one for one in found if one.key not in answers.unsure)[:QUESTIONS]
            return self._questions

    def asked(self) -> Asked | None:
        """The question that stands above the entry line."""
        return self._questions[0] if self._questions else None
