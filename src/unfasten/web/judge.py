"""Pages that judge and compare: models against each other, swap tests of a family, battery, requirements."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from unfasten.evidence.errors import CallError
from unfasten.record.read import read_tree
from unfasten.record.record import Record
from unfasten.record.types import ID_PATTERN
from unfasten.web.guard import REPORT_POLICY
from unfasten.web.lines import RecordId
from unfasten.web.render import page
from unfasten.web.who import Reader

router = APIRouter(include_in_schema=False)
Ids = Annotated[list[Annotated[str, Query(pattern=ID_PATTERN, max_length=80)]], Query(max_length=8)]
SANDBOXED = {"content-security-policy": REPORT_POLICY}


@router.get("/compare")
def compare(request: Request, who: Reader, record: Ids = []) -> Response:  # noqa: B006 - read only
    """What differs between two to eight records, and what of one fits the other."""
    from unfasten.report.pages import render_compare
    from unfasten.service.compare_page import compare_page

    if len(record) < 2:
        return RedirectResponse("/", 303)
    records = [_valid(request, name) for name in record]
    made = compare_page(records, request.app.state.settings.on, budget_s=0.5)
    return HTMLResponse(render_compare(made), headers=SANDBOXED)


@router.get("/families/{family}/swaps")
def swaps(request: Request, family: RecordId, who: Reader) -> Response:
    """Which part of which donor a unit accepts, and which tests are to be run next."""
    from unfasten.report.pages import render_swaps
    from unfasten.service.swap_page import swap_page

    store = request.app.state.workspace.store
    trees = [store.record(head.id) for head in store.records()]
    names = [tree["product"]["id"] for tree in trees if tree["product"].get("family") == family]
    records = [_valid(request, name) for name in names]
    if not records:
        raise CallError(
            "web.no-family", family, "no record belongs to this family", "name the family in product.family"
        )
    return HTMLResponse(render_swaps(swap_page(records, request.app.state.settings.on)), headers=SANDBOXED)


@router.get("/records/{record}/battery")
def battery(request: Request, record: RecordId, who: Reader) -> Response:
    """What is known of the battery: label, room, transport, cautions, and change against the predecessor."""
    from unfasten.service.battery import battery_answers

    found = _valid(request, record)
    store = request.app.state.workspace.store
    held = {head.id for head in store.records()}
    before = found.product.predecessor
    against = _valid(request, before) if before in held else None
    answers = [one.as_json() for one in battery_answers(found, request.app.state.settings.on, against)]
    return page(request, "battery.html.j2", record=record, product=found.product, answers=answers)


@router.get("/records/{record}/requirements")
def requirements(request: Request, record: RecordId, who: Reader) -> Response:
    """Requirements of the ecodesign and battery regulations, and the quantities of the label."""
    from unfasten.service.requirements import label, requirements, rule_sets

    found, on = _valid(request, record), request.app.state.settings.on
    decisions = [requirements(found, on, name).as_json() for name in ("eu-2023-1670", "eu-2023-1542-11")]
    planned = [head for head in rule_sets() if head.status == "planned"]
    labelled = label(found, on).as_json()
    context = {"decisions": decisions, "label": labelled, "planned": planned}
    return page(request, "requirements.html.j2", record=record, product=found.product, **context)


def _valid(request: Request, name: str | None) -> Record:
    """A record that is complete enough to be judged; `CallError` (`web.draft`) if it is not."""
    reading = read_tree(request.app.state.workspace.store.record(name))
    if reading.record is None:
        count = len(reading.findings)
        remedy = "mend what the bench lists under Findings"
        raise CallError("web.draft", str(name), f"the record is not complete ({count} findings)", remedy)
    return reading.record
