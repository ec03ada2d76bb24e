"""Ranking bench questions quickly, from routes that are known already."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Final

from unfasten.evidence.errors import CallError
from unfasten.record.record import Record
from unfasten.routes.opencover import OpenCover
from unfasten.routes.questions import Asker
from unfasten.routes.result import Reach
from unfasten.routes.worlds import Worlds
from unfasten.service.ask import is_while_open, number
from unfasten.service.askfigure import Figure, StepsFigure, figure_for
from unfasten.service.askwords import question_text

#: most search for one supposed answer while somebody waits [s, nominal]
TRIAL_S: Final = 0.05


@dataclass(frozen=True, slots=True)
class Ranked:
    """A question with what its answer is expected to narrow."""

    cover: OpenCover
    text: str
    narrows: str
    while_open: bool


def ranked(folded: Record, reaches: Mapping[str, Reach], on: date, *, search: bool) -> Iterator[Ranked]:
    """Questions for the index; where the rules do not apply, for the steps to the first battery.

    Without `search` the order is estimated, which is quick.
    """
    figure = _figure(folded, on)
    if figure is None or any(target not in reaches for target in figure.targets):
        return
    worlds = Worlds(folded, budget_s=TRIAL_S)
    known = {target: reaches[target] for target in figure.targets}
    asker = Asker(worlds, figure.targets, lambda r: figure.shown(r).width, second=figure.second, reaches=known)
    rows = [(q, is_while_open(folded, q.cover)) for q in asker.rank(search=search)]
    rows.sort(key=lambda row: (row[0].narrows <= 0, row[0].narrows > 0 and not row[1]))
    for question, urgent in rows:
        words = f"{float(number(question.narrows)):.3g}" if question.narrows else "0"
        yield Ranked(question.cover, question_text(folded, question.cover), f"{words} {_unit(figure)}", urgent)


def _figure(folded: Record, on: date) -> Figure | None:
    try:
        return figure_for(folded, "index", on)
    except CallError:
        batteries = (name for name, part in folded.parts.items() if part.role == "battery" and not part.stays)
        name = next(batteries, None)
        return None if name is None else StepsFigure(folded, name)


def _unit(figure: Figure) -> str:
    return "steps" if isinstance(figure, StepsFigure) else "points of the index"
