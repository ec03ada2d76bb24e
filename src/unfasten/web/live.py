"""The stream of a record: entries of every bench, and the answers, as they come."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query, Request
from fastapi.responses import StreamingResponse

from unfasten.web.errors import described
from unfasten.web.lines import RecordId, room_of
from unfasten.web.who import Reader, who_is

router = APIRouter(responses=described(404))


@router.get("/api/records/{record}/live", response_class=StreamingResponse)
async def live(
    request: Request,
    record: RecordId,
    who: Reader,
    after: Annotated[int, Query(ge=0, le=2**53)] = 0,
) -> StreamingResponse:
    """Server-sent events: `rows`, `answers`, `questions`, `trouble`."""
    room = await room_of(request, record)
    stream = room.listen(after, lambda: who_is(request) is not None)
    return StreamingResponse(stream, media_type="text/event-stream", headers={"x-accel-buffering": "no"})
