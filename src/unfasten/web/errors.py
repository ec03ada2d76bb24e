"""Errors in one shape, as JSON for programs and as a page for people."""

from __future__ import annotations

from typing import Any

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import JSONResponse, Response
from starlette.exceptions import HTTPException

from unfasten.evidence.errors import CallError, DataError, UnfastenError

_MISSING = {"store.unknown-record", "store.unknown-photo", "web.nothing-here"}
_WORDS = {404: "nothing is here", 405: "this cannot be done here", 400: "the request cannot be read"}


class Refused(UnfastenError):  # noqa: N818 - names the outcome
    """A request that is refused, with its HTTP status."""

    def __init__(self, status: int, code: str, message: str, remedy: str) -> None:
        super().__init__(code, "request", message, remedy)
        self.status = status


def refusal(status: int, code: str, message: str, remedy: str) -> JSONResponse:
    """A refusal in the shape of all errors."""
    return JSONResponse({"ok": False, "code": code, "where": "request", "message": message, "try": remedy}, status)


def add_handlers(app: FastAPI) -> None:
    """Make every error come out in the one shape."""
    app.add_exception_handler(UnfastenError, _known)
    app.add_exception_handler(RequestValidationError, _unread)
    app.add_exception_handler(HTTPException, _http)


def _known(request: Request, error: Exception) -> Response:
    assert isinstance(error, UnfastenError)
    status = error.status if isinstance(error, Refused) else 404 if error.code in _MISSING else 422
    if error.code in ("store.unusable", "store.full"):
        status = 503
    return _answer(request, status, error.as_json())


def _unread(request: Request, error: Exception) -> Response:
    assert isinstance(error, RequestValidationError)
    findings = [{"where": ".".join(str(step) for step in one["loc"]), "message": one["msg"]} for one in error.errors()]
    body: dict[str, Any] = {
        "ok": False,
        "code": "web.unread",
        "where": findings[0]["where"] if findings else "request",
        "message": "the request cannot be read",
        "try": "send what the description of the interface says",
        "findings": findings,
    }
    return _answer(request, 422, body)


def _http(request: Request, error: Exception) -> Response:
    assert isinstance(error, HTTPException)
    message = _WORDS.get(error.status_code, str(error.detail))
    body: dict[str, Any] = {
        "ok": False,
        "code": f"web.http-{error.status_code}",
        "where": request.url.path,
        "message": message,
        "try": "begin at the list of records",
    }
    return _answer(request, error.status_code, body, dict(error.headers or {}))


def _answer(request: Request, status: int, body: dict[str, Any], headers: dict[str, str] | None = None) -> Response:
    if "text/html" in request.headers.get("accept", "") and not request.url.path.startswith("/api/"):
        from unfasten.web.render import page

        answer = page(request, "error.html.j2", status=status, error=body)
        answer.status_code = status
        answer.headers.update(headers or {})
        return answer
    return JSONResponse(body, status, headers)


__all__ = ["CallError", "DataError", "Refused", "add_handlers", "refusal"]
