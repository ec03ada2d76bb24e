"""Errors in one shape, as JSON for programs and as a page for people."""

from __future__ import annotations

import json
import re
from pathlib import Path
from tempfile import gettempdir
from typing import Any, Final, Literal, NamedTuple

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import JSONResponse, Response
from pydantic import BaseModel, Field
from starlette.exceptions import HTTPException

from unfasten.evidence.errors import CallError, DataError, UnfastenError

_MISSING = {"store.unknown-record", "store.unknown-photo", "bench.no-photo", "web.nothing-here", "web.no-family"}
#: the workspace cannot keep anything now; what was sent is to be sent again
AWAY: Final = frozenset(
    {"store.away", "store.busy", "store.disk-full", "store.full", "store.read-only", "store.unusable"}
)
_WORDS = {404: "nothing is here", 405: "this cannot be done here", 400: "the request cannot be read"}
_AWAY_WORDS = {
    "store.away": "the database does not answer; nothing of this is known to be kept",
    "store.busy": "others are writing; nothing of this was kept",
    "store.disk-full": "the disk is full; nothing of this was kept",
    "store.full": "the disk is full; nothing of this was kept",
    "store.read-only": "the workspace cannot be written; nothing of this was kept",
}
_EVERY = {
    400: "The body cannot be read",
    401: "Nobody has signed in",
    403: "The role does not allow it, or the page's token or the origin is wrong",
    413: "The body is too large",
    421: "The server is not called by this name",
    422: "A value is wrong; each is listed",
    503: "The workspace cannot be read or written now",
}
_MEANS = {
    404: "There is no such record, part or photo",
    409: "It cannot be done as the server is run",
    429: "Too many attempts",
}
#: most findings that are told of one request
MOST: Final = 100


class Refused(UnfastenError):  # noqa: N818 - names the outcome
    """A request that is refused, with its HTTP status."""

    def __init__(self, status: int, code: str, message: str, remedy: str) -> None:
        super().__init__(code, "request", message, remedy)
        self.status = status


class Refusal(NamedTuple):
    """Why a request goes no further."""

    status: int
    code: str
    message: str
    remedy: str


class Trouble(BaseModel):
    """The one shape of errors: what, where, and what to do, with a stable code; `findings` where there are several."""

    ok: Literal[False] = False
    code: str
    where: str
    message: str
    remedy: str = Field(alias="try")
    findings: list[dict[str, Any]] | None = None


class Told(JSONResponse):
    """JSON in ASCII: what was sent comes back escaped, whatever characters it has."""

    def render(self, content: Any) -> bytes:
        """Write the content."""
        return json.dumps(content, separators=(",", ":"), allow_nan=False).encode("ascii")


def plain(text: str) -> str:
    """The text with what no file, database or header can hold written as `?`: control characters, half characters."""
    return "".join(letter if letter.isprintable() else "?" for letter in text)


def described(*statuses: int) -> dict[int | str, dict[str, Any]]:
    """Describe in the interface the refusals of an operation, beside those that every operation has."""
    every = {**_EVERY, **{status: _MEANS[status] for status in statuses}}
    return {status: {"model": Trouble, "description": words} for status, words in sorted(every.items())}


def refusal(status: int, code: str, message: str, remedy: str) -> JSONResponse:
    """A refusal in the shape of all errors."""
    return Told(_body(code, "request", message, remedy), status)


def _body(code: str, where: str, message: str, remedy: str) -> dict[str, Any]:
    return {"ok": False, "code": code, "where": where, "message": message, "try": remedy}


def add_handlers(app: FastAPI) -> None:
    """Make every error come out in the one shape."""
    app.add_exception_handler(UnfastenError, _known)
    app.add_exception_handler(RequestValidationError, _unread)
    app.add_exception_handler(HTTPException, _http)


def _known(request: Request, error: Exception) -> Response:
    assert isinstance(error, UnfastenError)
    body = error.as_json()
    status = error.status if isinstance(error, Refused) else 404 if error.code in _MISSING else 422
    if error.code in AWAY:
        status = 503
        body |= {"where": "workspace", "message": _AWAY_WORDS.get(error.code, "the workspace cannot be used now")}
    elif error.code == "store.damaged-photo":
        status, body["where"] = 500, "workspace"
    return _answer(request, status, _without_paths(body, request.app.state.settings.folder))


def _without_paths(told: Any, folder: Path) -> Any:
    """What is told, without where things lie on the server."""
    if isinstance(told, dict):
        return {name: _without_paths(value, folder) for name, value in told.items()}
    if isinstance(told, list):
        return [_without_paths(value, folder) for value in told]
    if not isinstance(told, str):
        return told
    for place, word in ((folder.absolute(), "workspace"), (folder, "workspace")):
        told = told.replace(str(place), word) if place.name else told
    return re.sub(rf"{re.escape(gettempdir())}/[^/\s]+/", "", told)


def _unread(request: Request, error: Exception) -> Response:
    assert isinstance(error, RequestValidationError)
    findings = [
        {"where": ".".join(str(step) for step in one["loc"]), "message": one["msg"]} for one in error.errors()[:MOST]
    ]
    where = findings[0]["where"] if findings else "request"
    remedy = "send what the description of the interface says"
    body = _body("web.unread", where, "the request cannot be read", remedy) | {"findings": findings}
    return _answer(request, 422, body)


def _http(request: Request, error: Exception) -> Response:
    assert isinstance(error, HTTPException)
    message = _WORDS.get(error.status_code, str(error.detail))
    body = _body(f"web.http-{error.status_code}", request.url.path, message, "begin at the list of records")
    return _answer(request, error.status_code, body, dict(error.headers or {}))


def _answer(request: Request, status: int, body: dict[str, Any], headers: dict[str, str] | None = None) -> Response:
    is_read_by_people = "text/html" in request.headers.get("accept", "") and not request.url.path.startswith("/api/")
    if is_read_by_people and status != 503:  # a page asks the workspace who is there
        from unfasten.web.render import page

        answer = page(request, "error.html.j2", status=status, error=body)
        answer.status_code = status
        answer.headers.update(headers or {})
        return answer
    return Told(body, status, headers)


__all__ = ["AWAY", "CallError", "DataError", "Refused", "add_handlers", "described", "plain", "refusal"]
