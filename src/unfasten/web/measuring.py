"""Measuring on a photo from the page: picks go in, a figure with its interval and budget comes out."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Any, Literal
from uuid import UUID

from fastapi import APIRouter, Request
from pydantic import AwareDatetime, BaseModel, ConfigDict, Field

from unfasten.evidence.errors import CallError, DataError
from unfasten.record.types import ID_PATTERN
from unfasten.service.bench.lines import Sent
from unfasten.web.errors import described
from unfasten.web.lines import RecordId, _bench
from unfasten.web.who import Reader, Recorder

if TYPE_CHECKING:
    from unfasten.photo.open import Photo
    from unfasten.service.measureparts import PartsTable
    from unfasten.service.measurepicks import Measured

#: the lab's own list of parts and their markings, in the workspace
MARKINGS = "markings.yaml"
router = APIRouter(responses=described(404))
RecordName = Annotated[str, Field(pattern=ID_PATTERN, max_length=80)]
Pick = Annotated[list[Annotated[float, Field(ge=-1e6, le=1e6, allow_inf_nan=False)]], Field(min_length=2, max_length=2)]


class Asked(BaseModel):
    """A measurement; picks are pixels of the upright photo, one list for every time the same thing was picked.

    For `holes` a list holds a list of picks for each hole.
    """

    model_config = ConfigDict(extra="forbid")

    kind: Literal["distance", "diameter", "angle", "area", "holes", "parts"]
    readings: list[list[Pick]] | list[list[list[Pick]]] = Field(default=[], max_length=100)
    edge: bool = False
    scale: dict[str, Any] = Field(default={"kind": "mat"})
    height: str | None = Field(default=None, max_length=80)
    distance: str | None = Field(default=None, max_length=80)


class Kept(BaseModel):
    """A measurement to be made and kept: the part it is of, by letter for parts on the mat, and what it is called."""

    model_config = ConfigDict(extra="forbid")

    id: UUID
    at: AwareDatetime
    ask: Asked
    of: dict[Annotated[str, Field(max_length=2)], RecordName] = Field(default={}, max_length=100)
    name: str | None = Field(default=None, min_length=1, max_length=200)


@router.post("/api/records/{record}/photos/{photo}/measure")
def measure(request: Request, record: RecordId, photo: RecordId, asked: Asked, who: Reader) -> dict[str, Any]:
    """Measure on a photo of a record; nothing is kept."""
    return dict(measured_on(request, record, photo, asked).as_json())


@router.post("/api/records/{record}/photos/{photo}/measurements", status_code=201)
def keep(request: Request, record: RecordId, photo: RecordId, sent: Kept, who: Recorder) -> dict[str, Any]:
    """Measure, and put the figures on the sheet with the recipe that makes them again."""
    from unfasten.service.measurekeep import measurements_of

    done = measured_on(request, record, photo, sent.ask)
    figures = [one.model_dump(mode="json", exclude_defaults=True) for one in measurements_of(done, sent.of, sent.name)]
    room = _bench(request, record)
    kept = room.bench.add_measurements(Sent(sent.id, "", sent.at), who.name, figures)
    request.app.state.loop.call_soon_threadsafe(room.wake.set)
    return kept


class Region(BaseModel):
    """Where a package lies on the upright photo [px]."""

    model_config = ConfigDict(extra="forbid")

    x: int = Field(ge=0, le=100_000)
    y: int = Field(ge=0, le=100_000)
    width: int = Field(ge=1, le=100_000)
    height: int = Field(ge=1, le=100_000)


@router.post("/api/records/{record}/photos/{photo}/marking")
def marking(request: Request, record: RecordId, photo: RecordId, region: Region, who: Reader) -> dict[str, Any]:
    """Propose what a marking reads, with what the lab's own list (markings.yaml) holds like it; a person confirms."""
    opened = opened_photo(request, record, photo)
    try:
        from unfasten.photo.identify.ocr import Box
        from unfasten.service.identify import identify_marking, read_parts
    except ImportError as error:
        raise no_extra() from error

    settings = request.app.state.settings
    listed = settings.folder / MARKINGS
    parts = read_parts(listed) if listed.is_file() else None
    box = Box(region.x, region.y, region.width, region.height)
    return dict(identify_marking(opened, settings.on, box, parts).as_json())


def measured_on(request: Request, record: str, photo: str, asked: Asked) -> Measured | PartsTable:
    """Measure what is asked on a photo of a record."""
    opened = opened_photo(request, record, photo)
    try:
        from unfasten.service.camera import load_profiles
        from unfasten.service.measure import measure_photo
        from unfasten.service.measureask import read_ask
        from unfasten.service.measureparts import measure_parts
    except ImportError as error:
        raise no_extra() from error

    workspace = request.app.state.workspace
    ask, profiles = read_ask(asked.model_dump(exclude_none=True)), load_profiles(workspace.folder / "lenses")
    if ask.kind == "parts":
        return measure_parts(opened, ask, profiles)
    return measure_photo(opened, opened.facts.name, ask, profiles)


def no_extra() -> CallError:
    """What is said where the extra `photo` is not installed."""
    remedy = "install it: pip install 'unfasten[photo]'"
    return CallError("photo.not-installed", "photo", "looking at photographs needs the extra `photo`", remedy)


def opened_photo(request: Request, record: str, photo: str) -> Photo:
    """A photo of a record; `DataError` if the record has none of this id."""
    from unfasten.photo.open import open_photo

    held = (_bench(request, record).bench.tree().get("photos") or {}).get(photo)
    if held is None:
        raise DataError("bench.no-photo", photo, "the record has no such photo", "load the page anew")
    workspace = request.app.state.workspace
    return open_photo(workspace.photos.get(held["file"]), str(held.get("name") or photo))
