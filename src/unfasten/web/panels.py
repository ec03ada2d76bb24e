"""Panels of the bench: pieces of the page that follow the record."""

from __future__ import annotations

from typing import Any

from unfasten.record.fold import fold_log
from unfasten.service.bench.answers import Answers
from unfasten.service.cautions import Care, deference, product_cautions, stop_of
from unfasten.service.report_routes import depth_chart
from unfasten.service.report_score import rating_of
from unfasten.web.render import fragment

#: codes of findings in which the log contradicts the model, or a swap test the record
CONTRADICTIONS = ("record.log-", "record.swap-against", "record.swap-conflict")
NAMES = ("readouts", "index", "depth", "findings", "expected")


def panels(answers: Answers) -> dict[str, Any]:
    """Everything that follows an entry, as pieces of the page."""
    context = panel_context(answers)
    pieces = {name: fragment(f"panel_{name}.html.j2", **context) for name in NAMES}
    return {"seq": answers.seq, "present": answers.present.as_json(), "html": pieces}


def panel_context(answers: Answers) -> dict[str, Any]:
    """What the templates of the panels are given."""
    rating, chart, stop = None, None, None
    cautions: tuple[Care, ...] = ()
    if answers.record is not None:
        folded = fold_log(answers.record)
        cautions, stop = product_cautions(folded), stop_of(folded)
        if answers.assessment is not None:
            rating = rating_of(folded, answers.assessment, answers.assessment.on)
            chart = depth_chart(folded, answers.reaches, rating.steps, rating.beyond, stop is not None)
    codes = {finding.code for finding in answers.findings}
    return {
        "answers": answers,
        "contradictions": sorted(code for code in codes if code.startswith(CONTRADICTIONS)),
        "rating": rating,
        "chart": chart,
        "cautions": cautions,
        "stop": stop,
        "defer": deference(),
        "named": sum(1 for part in (answers.tree.get("parts") or {}).values() if part.get("role", "other") != "other"),
    }


def question_panel(answers: Answers) -> str:
    """The bench questions."""
    return fragment("panel_questions.html.j2", answers=answers)
