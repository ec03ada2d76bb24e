"""Naming what was measured or read on a photo: every candidate comes back, a person's choice goes into the record."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING, Annotated, Any, Literal
from uuid import UUID

from fastapi import APIRouter, Request
from pydantic import AwareDatetime, BaseModel, ConfigDict, Field

from unfasten.evidence.errors import CallError
from unfasten.service.bench.lines import Sent
from unfasten.service.line.sheet import Piece
from unfasten.web.errors import described
from unfasten.web.lines import RecordId, _bench
from unfasten.web.measuring import Asked, Pick, RecordName, Region, measured_on, no_extra, opened_photo
from unfasten.web.who import Reader, Recorder

if TYPE_CHECKING:
    from unfasten.photo.identify.datecode import Reading
    from unfasten.service.boardphoto import BoardPhoto
    from unfasten.service.measurepicks import Measured
    from unfasten.service.namekeep import Entered
    from unfasten.service.naming import Candidates

router = APIRouter(responses=described(404))
LengthText = Annotated[str, Field(max_length=80)]
Words = Annotated[str, Field(min_length=1, max_length=200)]


class Named(BaseModel):
    """What something is to be named by: lengths with their uncertainty, and what was counted.

    `k` is the largest coverage factor of the readings. For a date code `code` is the text it stands in.
    """

    model_config = ConfigDict(extra="forbid")

    what: Literal["thread", "drive", "package", "date-code"]
    k: float = Field(default=2.0, ge=1, le=1000)
    diameter: LengthText | None = None
    pitch: LengthText | None = None
    length: LengthText | None = None
    turns: int | None = Field(default=None, ge=1, le=200)
    points: LengthText | None = None
    shape: Literal["hexalobular", "cross"] | None = None
    lobes: int | None = Field(default=None, ge=2, le=12)
    pin: bool | None = None
    thread: Annotated[str, Field(max_length=40)] | None = None
    head: LengthText | None = None
    side: LengthText | None = None
    other: LengthText | None = None
    balls: int | None = Field(default=None, ge=1, le=10_000)
    code: Annotated[str, Field(max_length=400)] | None = None
    made_before: date | None = None


class OnPhoto(BaseModel):
    """A length that something is named by, measured on a photo of the record."""

    model_config = ConfigDict(extra="forbid")

    photo: RecordName
    ask: Asked
    reading: Annotated[str, Field(max_length=40)] | None = None


class Chosen(BaseModel):
    """A person's choice: the measurements are made again, and kept with it."""

    model_config = ConfigDict(extra="forbid")

    id: UUID
    at: AwareDatetime
    seen: int = Field(default=0, ge=0, le=2**53)
    named: Named
    measured: dict[Literal["diameter", "pitch", "length", "points", "side", "other"], OnPhoto] = Field(min_length=1)
    chosen: Words
    joint: RecordName | None = None
    part: RecordName | None = None
    function: Words | None = None


class Seen(BaseModel):
    """A marking as a person saw it beside its crop."""

    model_config = ConfigDict(extra="forbid")

    id: UUID
    at: AwareDatetime
    seen: int = Field(default=0, ge=0, le=2**53)
    region: Region
    turned: Literal[0, 90, 180, 270] = 0
    read: list[Annotated[str, Field(max_length=200)]] = Field(default=[], max_length=50)
    lines: list[Words] = Field(min_length=1, max_length=50)
    part: RecordName | None = None
    function: Words | None = None
    code: Annotated[str, Field(pattern="^[0-9]{3,6}$")] | None = None
    year: int | None = Field(default=None, ge=1900, le=9998)
    made_before: date | None = None


class Board(BaseModel):
    """Picks round the board and round each body on it, and what gives the scale."""

    model_config = ConfigDict(extra="forbid")

    board: list[Pick] = Field(max_length=500)
    bodies: dict[Annotated[str, Field(min_length=1, max_length=80)], Annotated[list[Pick], Field(max_length=500)]]
    scale: dict[str, Any] = Field(default={"kind": "mat"})
    height: str | None = Field(default=None, max_length=80)
    distance: str | None = Field(default=None, max_length=80)


class BoardKept(BaseModel):
    """The use of a side of a board, to be kept: of which part, and which side it is."""

    model_config = ConfigDict(extra="forbid")

    id: UUID
    at: AwareDatetime
    ask: Board
    of: RecordName | None = None
    side: Words = "side not named"


@router.post("/api/identify")
def identify(request: Request, named: Named, who: Reader) -> dict[str, Any]:
    """Name every thread, drive or package that fits, or every week that a date code can mean; nothing is chosen."""
    if named.what == "date-code":
        from unfasten.service.naming import date_codes

        when = named.made_before or request.app.state.settings.on
        return {"what": named.what, "codes": [code.as_json() for code in date_codes(named.code or "", when)]}
    return dict(_candidates(request, named, {}).as_json())


@router.post("/api/records/{record}/identified", status_code=201)
def choose(request: Request, record: RecordId, sent: Chosen, who: Recorder) -> dict[str, Any]:
    """Enter a choice as a fact of the record, with the measurements that it rests on."""
    from unfasten.service.naming import Choice

    done: dict[str, Measured] = {key: _reading(request, record, one) for key, one in sorted(sent.measured.items())}
    lengths = {key: one.readings[0].text for key, one in done.items()}
    k = max(one.readings[0].k for one in done.values())
    found = _candidates(request, sent.named.model_copy(update={"k": max(k, sent.named.k)}), lengths)
    choice = Choice(sent.chosen, sent.joint, sent.part, sent.function)

    def entered(tree: Mapping[str, Any]) -> Entered:
        from unfasten.service.namekeep import choice_pieces

        return choice_pieces(tree, done, found, choice, sent.named.turns)

    return _put(request, record, Sent(sent.id, "", sent.at, None, sent.seen), who.name, entered)


@router.post("/api/records/{record}/photos/{photo}/markings", status_code=201)
def confirm(request: Request, record: RecordId, photo: RecordId, sent: Seen, who: Recorder) -> dict[str, Any]:
    """Keep a marking that a person has compared with its crop: on the part or component, and on the photo."""
    opened = opened_photo(request, record, photo)
    try:
        from unfasten.photo.identify.confirmation import confirm as confirmed
        from unfasten.photo.identify.ocr import Box, Line, MarkingReading
    except ImportError as error:
        raise no_extra() from error

    box = Box(sent.region.x, sent.region.y, sent.region.width, sent.region.height)
    height, width = opened.pixels.shape[:2]
    region = box.within(width, height)
    reading = MarkingReading(region, sent.turned, tuple(Line(line, 0.0, region) for line in sent.read))
    kept = confirmed(reading, opened.sha256, sent.lines, who.name, sent.at)
    code = _code(request, sent)

    def entered(tree: Mapping[str, Any]) -> Entered:
        from unfasten.service.namekeep import marking_pieces

        return marking_pieces(tree, photo, kept, sent.part, sent.function, code)

    return _put(request, record, Sent(sent.id, "", sent.at, None, sent.seen), who.name, entered)


@router.post("/api/records/{record}/photos/{photo}/board")
def board(request: Request, record: RecordId, photo: RecordId, asked: Board, who: Reader) -> dict[str, Any]:
    """Measure body area over board area of the side on a photo; nothing is kept."""
    return dict(_board(request, record, photo, asked).as_json())


@router.post("/api/records/{record}/photos/{photo}/boards", status_code=201)
def keep_board(request: Request, record: RecordId, photo: RecordId, sent: BoardKept, who: Recorder) -> dict[str, Any]:
    """Measure the use of a side, and put its figures on the sheet with the picks that make them again."""
    done = _board(request, record, photo, sent.ask)
    figures = [one.model_dump(mode="json", exclude_defaults=True) for one in done.measurements(sent.of, sent.side)]
    room = _bench(request, record)
    kept = room.bench.add_measurements(Sent(sent.id, "", sent.at), who.name, figures)
    request.app.state.loop.call_soon_threadsafe(room.wake.set)
    return kept


@router.get("/api/records/{record}/photos/{photo}/again")
def again(request: Request, record: RecordId, photo: RecordId, who: Reader) -> dict[str, Any]:
    """Make every figure again that the record holds of a photo, and tell which came out the same."""
    from unfasten.record.measurement import Measurement

    opened = opened_photo(request, record, photo)
    try:
        from unfasten.service.camera import load_profiles
        from unfasten.service.measurekeep import again_of
    except ImportError as error:
        raise no_extra() from error

    tree = _bench(request, record).bench.tree().get("measurements") or {}
    held = {name: Measurement.model_validate(one) for name, one in tree.items() if one.get("file") == opened.sha256}
    if not held:
        return {"measurements": []}
    profiles = load_profiles(request.app.state.workspace.folder / "lenses")
    return {"measurements": [one.as_json() for one in again_of(held, opened, profiles)]}


def _reading(request: Request, record: str, one: OnPhoto) -> Measured:
    """The measurement with the one reading that is wanted, the first unless it is named."""
    from unfasten.service.measurepicks import Measured

    done = measured_on(request, record, one.photo, one.ask)
    if not isinstance(done, Measured):
        remedy = "measure a distance, a diameter or an outline"
        raise CallError("identify.missing", "measured", "parts on the mat name nothing by themselves", remedy)
    found = [reading for reading in done.readings if one.reading in (None, reading.name)][:1]
    if not found:
        names = ", ".join(reading.name for reading in done.readings)
        message = f"there is no {one.reading!r} among them"
        raise CallError("identify.missing", "reading", message, f"name one of {names}")
    return replace(done, readings=tuple(found))


def _candidates(request: Request, named: Named, lengths: Mapping[str, str]) -> Candidates:
    try:
        from unfasten.service.naming import candidates_for
    except ImportError as error:
        raise no_extra() from error

    if named.what == "date-code":
        raise CallError("identify.missing", "what", "a date code is no size", "confirm it with its marking")
    given = {**named.model_dump(exclude={"what", "k", "code", "made_before"}, exclude_none=True), **lengths}
    return candidates_for(named.what, given, request.app.state.settings.on, named.k)


def _code(request: Request, sent: Seen) -> tuple[str, Reading] | None:
    """The chosen week of a date code; `CallError` if the code cannot mean it."""
    from unfasten.service.naming import read_week

    if sent.code is None or sent.year is None:
        return None
    return sent.code, read_week(sent.code, sent.year, sent.made_before or request.app.state.settings.on)


def _board(request: Request, record: str, photo: str, asked: Board) -> BoardPhoto:
    opened = opened_photo(request, record, photo)
    try:
        from unfasten.service.boardphoto import measure_board
        from unfasten.service.camera import load_profiles
    except ImportError as error:
        raise no_extra() from error

    profiles = load_profiles(request.app.state.workspace.folder / "lenses")
    return measure_board(opened, opened.facts.name, asked.model_dump(exclude_none=True), profiles)


def _put(
    request: Request, record: str, sent: Sent, by: str, make: Callable[[Mapping[str, Any]], Entered]
) -> dict[str, Any]:
    """Put what is entered on the sheet as one line, and tell those who listen."""
    place = ""

    def pieces(tree: Mapping[str, Any]) -> tuple[Sequence[Piece], str]:
        nonlocal place
        made = make(tree)
        place = made.place
        return made.pieces, made.words

    room = _bench(request, record)
    kept = room.bench.put_line(sent, by, pieces)
    request.app.state.loop.call_soon_threadsafe(room.wake.set)
    return kept | {"place": place}
