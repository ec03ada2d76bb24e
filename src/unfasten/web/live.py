"""The stream of a record: entries of every bench, and the answers, as they come."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Header, Query, Request
from fastapi.responses import StreamingResponse

from unfasten.web.lines import RecordId, room_of
from unfasten.web.who import Reader

router = APIRouter()


@router.get("/api/records/{record}/live", response_class=StreamingResponse)
async def live(
    request: Request,
    record: RecordId,
    who: Reader,
    after: Annotated[int, Query(ge=0, le=2**53)] = 0,
    last_event_id: Annotated[str | None, Header(max_length=20)] = None,
) -> StreamingResponse:
    """Server-sent events: `rows`, `answers`, `questions`, `trouble`."""
    room = await room_of(request, record)
    return StreamingResponse(room.listen(after), media_type="text/event-stream", headers={"x-accel-buffering": "no"})
