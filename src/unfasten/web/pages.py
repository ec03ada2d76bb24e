"""Pages: the list of records, the bench, the past, the report."""

from __future__ import annotations

from typing import Annotated, get_args

from fastapi import APIRouter, Query, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from unfasten.record.product import Category
from unfasten.report.html import figure_css
from unfasten.web.guard import REPORT_POLICY
from unfasten.web.lines import RecordId, _bench
from unfasten.web.render import page
from unfasten.web.who import Reader, who_is

router = APIRouter(include_in_schema=False)


@router.get("/")
def home(request: Request) -> Response:
    """All records, and a form to begin one."""
    if who_is(request) is None:
        return RedirectResponse("/sign-in", 303)
    store = request.app.state.workspace.store
    heads = store.records()
    named = {(store.record(head.id).get("product") or {}).get("family") for head in heads}
    families = sorted(name for name in named if name)
    return page(request, "records.html.j2", heads=heads, families=families, categories=get_args(Category))


@router.get("/records/{record}")
def bench(request: Request, record: RecordId, who: Reader) -> Response:
    """The bench."""
    room = _bench(request, record)
    tree = room.bench.tree()
    rows = [row.as_json() for row in room.bench.rows()]
    return page(
        request,
        "bench.html.j2",
        record=record,
        product=tree["product"],
        sheet=tree.get("sheet") or {},
        rows=rows,
        seq=room.bench.seq,
    )


@router.get("/records/{record}/past")
def past(
    request: Request, record: RecordId, who: Reader, at: Annotated[int | None, Query(ge=1, le=2**53)] = None
) -> Response:
    """The ledger in full, and the record as it stood after one of its entries."""
    from unfasten.service.history import history

    store = request.app.state.workspace.store
    lines, state = history(store, record), store.state(record, at)
    return page(
        request, "past.html.j2", record=record, lines=lines, state=state, product=state.tree.get("product") or {}
    )


@router.get("/records/{record}/report")
def report(request: Request, record: RecordId, who: Reader) -> Response:
    """The report, as it would be published."""
    from unfasten.report.html import render_html
    from unfasten.service.bench.look import report_of

    made = report_of(_bench(request, record).bench.answers(), request.app.state.settings.on)
    if made is None:
        return page(request, "no_report.html.j2", record=record)
    return HTMLResponse(render_html(made), headers={"content-security-policy": REPORT_POLICY})


@router.get("/look/figures.css")
def figures() -> Response:
    """Palette and look of the drawings, the same as in reports."""
    return Response(figure_css(), media_type="text/css", headers={"cache-control": "max-age=3600"})
