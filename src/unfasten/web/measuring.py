"""Measuring on a photo from the page: picks go in, a figure with its interval and budget comes out."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from fastapi import APIRouter, Request
from pydantic import BaseModel, ConfigDict, Field

from unfasten.evidence.errors import CallError, DataError
from unfasten.web.errors import described
from unfasten.web.lines import RecordId, _bench
from unfasten.web.who import Reader

router = APIRouter(responses=described(404))
Pick = Annotated[list[Annotated[float, Field(ge=-1e6, le=1e6, allow_inf_nan=False)]], Field(min_length=2, max_length=2)]


class Asked(BaseModel):
    """A measurement; picks are pixels of the upright photo, one list for every time the same thing was picked."""

    model_config = ConfigDict(extra="forbid")

    kind: Literal["distance", "diameter", "angle", "area", "holes", "parts"]
    readings: list[list[Pick]] = Field(default=[], max_length=100)
    scale: dict[str, Any] = Field(default={"kind": "mat"})
    height: str | None = Field(default=None, max_length=80)
    distance: str | None = Field(default=None, max_length=80)


@router.post("/api/records/{record}/photos/{photo}/measure")
def measure(request: Request, record: RecordId, photo: RecordId, asked: Asked, who: Reader) -> dict[str, Any]:
    """Measure on a photo of a record; nothing is kept."""
    try:
        from unfasten.service.camera import load_profiles
        from unfasten.service.measure import measure_photo
    except ImportError as error:
        remedy = "install it: pip install 'unfasten[photo]'"
        raise CallError("photo.not-installed", "measure", "measuring needs the extra `photo`", remedy) from error

    tree = _bench(request, record).bench.tree()
    held = (tree.get("photos") or {}).get(photo)
    if held is None:
        raise DataError("bench.no-photo", photo, "the record has no such photo", "load the page anew")
    workspace = request.app.state.workspace
    data = workspace.photos.get(held["file"])
    ask = asked.model_dump(exclude_none=True)
    return measure_photo(
        data, str(held.get("name") or photo), ask, load_profiles(workspace.folder / "lenses")
    ).as_json()
