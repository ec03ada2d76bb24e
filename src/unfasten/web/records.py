"""Records: begin one, look at a part, the drawing, the past."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Annotated, Any, Literal

from fastapi import APIRouter, Query, Request
from fastapi.responses import Response
from pydantic import BaseModel, ConfigDict, Field

from unfasten.record.product import Category
from unfasten.record.types import ID_PATTERN
from unfasten.report.figures.structure import structure_figure
from unfasten.service.bench.begin import begin_record
from unfasten.service.bench.look import costs_of_part, look_at_part, structure_of
from unfasten.web.errors import described
from unfasten.web.lines import RecordId, _bench
from unfasten.web.who import Reader, Recorder

router = APIRouter(responses=described(404))
Name = Annotated[str, Field(min_length=1, max_length=200, pattern=r"\S")]


class Begin(BaseModel):
    """A record to be begun."""

    model_config = ConfigDict(extra="forbid")

    id: str = Field(pattern=ID_PATTERN, max_length=80)
    name: Name
    maker: Name
    category: Category
    frame: str = Field(default="frame", pattern=ID_PATTERN, max_length=80)
    predecessor: str | None = Field(default=None, pattern=ID_PATTERN, max_length=80)
    survey: Literal["full", "partial"] = "partial"


@router.post("/api/records", status_code=201)
def begin(request: Request, new: Begin, who: Recorder) -> dict[str, object]:
    """Begin a record: the product and the part that stays; everything else comes by lines."""
    store = request.app.state.workspace.store
    entry = begin_record(store, new.model_dump(exclude_none=True), at=datetime.now(UTC), by=who.name)
    return {"id": new.id, "seq": entry.seq}


@router.get("/api/records")
def records(request: Request, who: Reader) -> dict[str, object]:
    """All records of the workspace."""
    heads = request.app.state.workspace.store.records()
    return {"records": [{"id": h.id, "name": h.name, "maker": h.maker, "category": h.category} for h in heads]}


@router.get("/api/records/{record}")
def record_tree(
    request: Request, record: RecordId, who: Reader, at: Annotated[int | None, Query(ge=1, le=2**53)] = None
) -> dict[str, Any]:
    """A record's plain tree, as it stands or as it stood after entry `at`."""
    state = request.app.state.workspace.store.state(record, at)
    return {"seq": state.seq, "record": state.tree}


@router.get("/api/records/{record}/parts/{part}")
def part(request: Request, record: RecordId, part: RecordId, who: Reader) -> dict[str, Any]:
    """What holds a part, what covers it, and its routes."""
    return look_at_part(_bench(request, record).bench.answers(), part)


@router.get("/api/records/{record}/parts/{part}/costs")
def part_costs(request: Request, record: RecordId, part: RecordId, who: Reader) -> dict[str, Any]:
    """What has to move on the way to a part, why, and what each move costs."""
    return {"part": part, "moves": costs_of_part(_bench(request, record).bench.answers(), part)}


@router.get("/api/records/{record}/drawing.svg", response_class=Response)
def drawing(request: Request, record: RecordId, who: Reader) -> Response:
    """The structure drawing."""
    structure = structure_of(_bench(request, record).bench.answers())
    svg = structure_figure(structure) if structure else '<svg xmlns="http://www.w3.org/2000/svg"/>'
    return Response(svg, media_type="image/svg+xml")
