"""Photos: taken in from the page or a phone, shown small and whole, marked with call-outs."""

from __future__ import annotations

import io
from datetime import MAXYEAR, MINYEAR, UTC, datetime, timedelta
from typing import Annotated, Any
from uuid import UUID, uuid4

from fastapi import APIRouter, File, Form, Path, Query, Request, UploadFile
from fastapi.responses import FileResponse, HTMLResponse, Response
from pydantic import AwareDatetime, BaseModel, ConfigDict, Field

from unfasten.evidence.errors import DataError
from unfasten.record.types import CLOCK_PATTERN
from unfasten.service.accounts import upload_key
from unfasten.service.bench.lines import Sent
from unfasten.store.photo import PhotoFile, unknown_photo
from unfasten.web.errors import Refused, described, plain
from unfasten.web.lines import RecordId, _bench
from unfasten.web.phone import check_ticket, ticket_of
from unfasten.web.render import page
from unfasten.web.settings import WebSettings
from unfasten.web.who import Reader, Recorder

router = APIRouter(responses=described(404))
Sha = Annotated[str, Path(pattern="^[0-9a-f]{64}$")]
SMALL = (240, 480, 2048)


class CallOuts(BaseModel):
    """All call-outs of a photo, by letter, in whole pixels of the upright photo."""

    model_config = ConfigDict(extra="forbid")

    id: UUID
    at: AwareDatetime
    seen: int = Field(default=0, ge=0, le=2**53)
    call_outs: dict[Annotated[str, Field(pattern="^[A-Z]{1,2}$")], dict[str, Any]] = Field(max_length=200)


@router.post("/api/records/{record}/photos", status_code=201)
def add(
    request: Request,
    record: RecordId,
    who: Recorder,
    file: Annotated[UploadFile, File()],
    clock: Annotated[str | None, Form(pattern=CLOCK_PATTERN)] = None,
    ahead: Annotated[float, Form(ge=-1e6, le=1e6, allow_inf_nan=False)] = 0.0,
) -> dict[str, Any]:
    """Take a photo in: the file is kept as it came, its facts are read, and it is tied to the entry that it shows."""
    return _take(request, record, who.name, file, clock, ahead)


@router.get("/api/records/{record}/photos")
def photos(request: Request, record: RecordId, who: Reader) -> dict[str, Any]:
    """Photos of a record with their call-outs, by id."""
    room = _bench(request, record)
    room.bench.refresh()
    tree = room.bench.tree()
    shown = {str(e["photo"]): number for number, e in enumerate(tree.get("log") or ()) if e.get("photo")}
    return {"seq": room.bench.seq, "photos": dict(sorted((tree.get("photos") or {}).items())), "entries": shown}


@router.put("/api/records/{record}/photos/{photo}/call-outs")
def call_outs(request: Request, record: RecordId, photo: RecordId, sent: CallOuts, who: Recorder) -> dict[str, object]:
    """Put the call-outs of a photo."""
    room = _bench(request, record)
    taken = room.bench.set_call_outs(Sent(sent.id, "", sent.at, None, sent.seen), who.name, photo, sent.call_outs)
    request.app.state.loop.call_soon_threadsafe(room.wake.set)
    return taken.as_json()


@router.get("/api/photos/{sha}", response_class=Response)
def picture(request: Request, sha: Sha, who: Reader, px: Annotated[int | None, Query()] = None) -> Response:
    """A photo: as it came, or upright and small without what the camera wrote (`px`: 240, 480 or 2048)."""
    workspace = request.app.state.workspace
    photo = workspace.store.photos.get(sha)
    if sha not in workspace.photos:
        raise unknown_photo(sha)
    keep = {"cache-control": "private, max-age=31536000, immutable"}
    if px is None and photo.media_type in ("image/jpeg", "image/png"):
        return FileResponse(workspace.photos.path(sha), media_type=photo.media_type, headers=keep)
    if px is not None and px not in SMALL:
        raise Refused(422, "web.size", f"{px} is no size that is kept", f"ask for {', '.join(map(str, SMALL))}")
    from unfasten.photo.thumbnails import thumbnail

    small = thumbnail(workspace.photos.get(sha), px or max(photo.width, photo.height))
    return Response(small, media_type="image/jpeg", headers=keep)


@router.post("/api/records/{record}/phone", responses=described(404, 409))
def phone(request: Request, record: RecordId, who: Recorder) -> dict[str, str]:
    """A one-time key for a phone, as an address and as a QR code (ISO/IEC 18004)."""
    import segno

    settings: WebSettings = request.app.state.settings
    _bench(request, record)
    if settings.base is None:
        remedy = "serve the lab's network: unfasten serve --lab --host ADDRESS"
        raise Refused(409, "web.no-phone", "a phone cannot reach this server, it serves this machine only", remedy)
    key = upload_key(request.app.state.workspace.store.accounts, record, datetime.now(UTC), who.name)
    address = f"{settings.base}/phone?key={key}"
    drawn = io.BytesIO()
    segno.make(address, error="m").save(drawn, kind="svg", scale=5, border=4, xmldecl=False, svgns=True)
    return {"address": address, "svg": drawn.getvalue().decode("utf-8")}


@router.get("/phone", include_in_schema=False)
def phone_page(request: Request, key: Annotated[str, Query(max_length=200)]) -> Response:
    """The page that a phone opens; the key is used up by the button on it, not by opening the address."""
    return page(request, "phone.html.j2", key=key, ticket="", record="")


@router.post("/phone", include_in_schema=False)
def phone_begin(request: Request, key: Annotated[str, Form(max_length=200)]) -> HTMLResponse:
    """Use the key up, and give the phone a ticket for an hour."""
    settings: WebSettings = request.app.state.settings
    now = datetime.now(UTC)
    address = request.client.host if request.client else "unknown"
    record, ticket = ticket_of(request.app.state.workspace.store.accounts, settings.key, key, address, now)
    return page(request, "phone.html.j2", key="", ticket=ticket, record=record)


@router.post("/api/phone", status_code=201)
def phone_photo(
    request: Request, ticket: Annotated[str, Form(max_length=1000)], file: Annotated[UploadFile, File()]
) -> dict[str, Any]:
    """A photo from a phone with a ticket."""
    settings: WebSettings = request.app.state.settings
    accounts = request.app.state.workspace.store.accounts
    record, by = check_ticket(accounts, settings.key, ticket, datetime.now(UTC))
    return _take(request, record, by, file, None, 0.0)


def _take(request: Request, record: str, by: str, file: UploadFile, clock: str | None, ahead: float) -> dict[str, Any]:
    from unfasten.photo.facts import PhotoLimits
    from unfasten.service.photofile import take_photo

    settings: WebSettings = request.app.state.settings
    room = _bench(request, record)
    data = file.file.read(settings.most_bytes + 1)
    name = plain(file.filename or "photo").replace("\\", "/").rpartition("/")[2][:200] or "photo"
    taken = take_photo(data, name, PhotoLimits(settings.most_bytes, settings.most_pixels))
    facts, now = taken.facts, datetime.now(UTC)
    when = facts.exposure.taken
    if when is not None and when.tzinfo is None:
        # a camera without offset is set to the time of the place; one whose clock stands at its beginning tells nothing
        when = when.astimezone() if MINYEAR < when.year < MAXYEAR else None
    kept = PhotoFile(
        facts.sha256,
        facts.media_type,
        *((facts.height, facts.width) if facts.exposure.orientation > 4 else (facts.width, facts.height)),
        facts.exposure.orientation,
        when.isoformat() if when else None,
        facts.bytes,
        name,
    )
    request.app.state.workspace.add_photo(data, kept)
    value = {"file": facts.sha256, "name": name, "width": facts.width, "height": facts.height}
    recent = when is not None and abs(now - when) < timedelta(days=2)
    if when is not None and recent:
        value["taken"] = when.isoformat()
    made = room.bench.add_photo(Sent(uuid4(), "", now, clock), by, value, ahead)
    request.app.state.loop.call_soon_threadsafe(room.wake.set)
    return {**made, "file": facts.sha256, "remarks": [remark.as_json() for remark in facts.remarks]}


__all__ = ["DataError", "router"]
