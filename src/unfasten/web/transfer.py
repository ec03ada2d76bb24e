"""Records in and out of the workspace through the page: as a file a person reads, or whole as an archive."""

from __future__ import annotations

import tempfile
from datetime import UTC, datetime
from pathlib import Path
from typing import Annotated, Any, Literal
from uuid import uuid4

from fastapi import APIRouter, File, Request, UploadFile
from fastapi.responses import Response

from unfasten.service.transfer import export_file, import_file
from unfasten.web.errors import described
from unfasten.web.lines import RecordId
from unfasten.web.settings import WebSettings
from unfasten.web.who import Publisher, Reader

router = APIRouter(responses=described(404))
TYPES = {"yaml": "application/yaml", "zip": "application/zip"}


@router.get("/api/records/{record}/file.{ending}", response_class=Response)
def out(request: Request, record: RecordId, ending: Literal["yaml", "zip"], who: Reader) -> Response:
    """The present record as YAML, or the whole of it as an archive: ledger, record and photos with checksums."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / f"{record}.{ending}"
        export_file(request.app.state.workspace, record, path, datetime.now(UTC))
        data = path.read_bytes()
    headers = {"content-disposition": f'attachment; filename="{record}.{ending}"'}
    return Response(data, media_type=TYPES[ending], headers=headers)


@router.post("/api/import", status_code=201)
def take_in(request: Request, who: Publisher, file: Annotated[UploadFile, File()]) -> dict[str, Any]:
    """Take a record file or an archive into the workspace, strictly; nothing is overwritten."""
    settings: WebSettings = request.app.state.settings
    ending = ".zip" if (file.filename or "").lower().endswith(".zip") else ".yaml"
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / f"sent{ending}"
        path.write_bytes(file.file.read(settings.most_bytes + 1))
        done = import_file(request.app.state.workspace, path, datetime.now(UTC), uuid4(), who.name)
    return {"record": done.record, "entries": done.entries, "photos": done.photos}
