"""Lines of the bench: understood before they are taken, kept before they are acknowledged."""

from __future__ import annotations

from datetime import datetime
from typing import Annotated, Any
from uuid import UUID

from fastapi import APIRouter, Path, Query, Request
from pydantic import AwareDatetime, BaseModel, ConfigDict, Field

from unfasten.evidence.errors import UnfastenError
from unfasten.record.types import CLOCK_PATTERN, ID_PATTERN
from unfasten.service.bench.lines import Sent
from unfasten.web.errors import AWAY, described
from unfasten.web.room import Room
from unfasten.web.who import Reader, Recorder

router = APIRouter(responses=described(404))
RecordId = Annotated[str, Path(pattern=ID_PATTERN, max_length=80)]
MOST_LINES = 500


class Typed(BaseModel):
    """A line being typed."""

    model_config = ConfigDict(extra="forbid")

    line: str = Field(max_length=4000)
    caret: int | None = Field(default=None, ge=0, le=4000)
    clock: str | None = Field(default=None, pattern=CLOCK_PATTERN)


class Line(BaseModel):
    """A line to be kept; `id` is chosen by the page."""

    model_config = ConfigDict(extra="forbid")

    id: UUID
    line: str = Field(min_length=1, max_length=4000)
    at: AwareDatetime
    clock: str | None = Field(default=None, pattern=CLOCK_PATTERN)
    took: float | None = Field(default=None, ge=0, le=86_400, description="seconds since the mark")
    seen: int = Field(default=0, ge=0, le=2**53)
    mends: UUID | None = None

    def sent(self) -> Sent:
        """The line as the bench takes it."""
        at: datetime = self.at
        return Sent(self.id, self.line, at, self.clock, self.seen, self.mends, self.took)


class Lines(BaseModel):
    """Lines in the order in which they were typed."""

    model_config = ConfigDict(extra="forbid")

    lines: list[Line] = Field(min_length=1, max_length=MOST_LINES)


async def room_of(request: Request, record: str) -> Room:
    """The room of a record."""
    room: Room = await request.app.state.hub.room(record)
    return room


@router.post("/api/records/{record}/understand")
def understand(request: Request, record: RecordId, typed: Typed, who: Recorder) -> dict[str, object]:
    """Say what a line would enter, and what may stand at the caret; nothing is kept."""
    return _bench(request, record).bench.understand(typed.line, typed.caret, typed.clock)


@router.post("/api/records/{record}/lines")
def take(request: Request, record: RecordId, sent: Lines, who: Recorder) -> dict[str, object]:
    """Keep lines, each for itself and in order. What is acknowledged is on disk."""
    room = _bench(request, record)
    kept: list[dict[str, Any]] = []
    for line in sent.lines:
        try:
            kept.append(room.bench.take(line.sent(), who.name, may_issue=who.may("publisher")).as_json())
        except UnfastenError as error:
            if error.code in AWAY:  # what is not acknowledged stays in the page's queue
                raise
            kept.append({"id": str(line.id), "ok": False, "refused": True, **error.as_json()})
    request.app.state.loop.call_soon_threadsafe(room.wake.set)
    return {"kept": kept}


@router.get("/api/records/{record}/ledger")
def ledger(
    request: Request, record: RecordId, who: Reader, after: Annotated[int, Query(ge=0, le=2**53)] = 0
) -> dict[str, object]:
    """Rows of the ledger after a number."""
    room = _bench(request, record)
    seq = room.bench.refresh()
    return {"seq": seq, "rows": [row.as_json() for row in room.bench.rows(after)]}


def _bench(request: Request, record: str) -> Room:
    """The room, from a worker thread."""
    import asyncio

    future = asyncio.run_coroutine_threadsafe(request.app.state.hub.room(record), request.app.state.loop)
    room: Room = future.result(60)
    return room
