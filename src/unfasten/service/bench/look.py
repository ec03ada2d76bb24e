"""A closer look from the bench: one part, the structure, the report."""

from __future__ import annotations

from datetime import date
from typing import Any

from unfasten.evidence.errors import DataError
from unfasten.record.fold import fold_log, lift_of
from unfasten.record.record import Record
from unfasten.report.model.report import Report
from unfasten.report.model.structure import Structure
from unfasten.routes.unknown import unknown_covers
from unfasten.service.bench.answers import Answers
from unfasten.service.cautions import deference, product_cautions, route_cautions, stop_of
from unfasten.service.report import report_context
from unfasten.service.report_routes import object_of, proof, shown_route, verb
from unfasten.service.report_score import rate
from unfasten.service.report_structure import structure
from unfasten.service.report_why import move_costs, why_moved
from unfasten.service.report_words import part_name, steps_span


def look_at_part(answers: Answers, part: str) -> dict[str, Any]:
    """What holds a part, what covers it, how deep it sits and by which route. `DataError` for an unknown part.

    The cautions that the route calls for stand with it; a swollen or damaged battery stops it: there is no route then.
    """
    if part not in (answers.tree.get("parts") or {}):
        raise DataError("web.nothing-here", part, "there is no such part on the sheet", "take a part from the list")
    if answers.record is None:
        return {"part": part, "name": part, "holds": [], "covers": [], "open": [], "route": [], "steps": None}
    record = fold_log(answers.record)
    reach = answers.reaches.get(part)
    stop = stop_of(record)
    route = shown_route(reach) if reach and not stop else None
    actions = route.actions if route else ()
    cares = () if stop else (*product_cautions(record), *route_cautions(record, actions))
    return {
        "part": part,
        "name": part_name(record, part),
        "holds": _holds(record, part),
        "covers": [[part_name(record, name) for name in clause] for clause in lift_of(record.parts[part]).behind],
        "open": [part_name(record, name) for name in unknown_covers(record).parts.get(part, ())],
        "steps": steps_span(reach).text if reach else None,
        "proof": proof(reach) if reach else "",
        "stop": f"{stop.title}. {stop.text}" if stop else None,
        "cautions": [f"{care.title}. {care.text} Source: {care.source}." for care in dict.fromkeys(cares)],
        "defer": deference(),
        "route": [f"{verb(action)} {object_of(record, action)}" for action in actions],
    }


def _holds(record: Record, part: str) -> list[dict[str, Any]]:
    unknown = unknown_covers(record)
    rows = []
    for name, joint in record.joints.items():
        if part not in joint.holds:
            continue
        way = joint.ways[0]
        rows.append(
            {
                "joint": name,
                "kind": joint.kind,
                "count": joint.count,
                "tools": list(way.tools),
                "to": [part_name(record, other) for other in joint.holds if other != part],
                "under": [[part_name(record, cover) for cover in clause] for clause in way.under],
                "open": [part_name(record, cover) for cover in unknown.ways.get((name, 0), ())],
            }
        )
    return rows


def costs_of_part(answers: Answers, part: str) -> list[dict[str, str]]:
    """What has to move on the way to a part, why, and what each move costs; each cost is a search of its own."""
    reach = answers.reaches.get(part)
    if answers.record is None or reach is None:
        return []
    record = fold_log(answers.record)
    unknown = unknown_covers(record)
    route = shown_route(reach)
    rows = why_moved(record, unknown, route.actions if route else (), part, move_costs(record, unknown, reach))
    return [{"moved": row.moved, "because": row.because, "sure": row.sure, "costs": row.costs} for row in rows]


def structure_of(answers: Answers) -> Structure | None:
    """The structure drawing's data; None while the record is not valid or has no part but the frame."""
    if answers.record is None or not answers.reaches:
        return None
    folded = fold_log(answers.record)
    return structure(folded, unknown_covers(folded), answers.reaches)


def report_of(answers: Answers, on: date) -> Report | None:
    """The report as it would be published now; None while the record is not valid."""
    if answers.record is None or not answers.reaches:
        return None
    return report_context(answers.record, answers.reaches, rate(answers.record, answers.reaches, on), on)
