"""Signing in and out of a lab's server."""

from __future__ import annotations

import secrets
from datetime import UTC, datetime, timedelta
from typing import Annotated

from fastapi import APIRouter, Form, Request
from fastapi.responses import RedirectResponse, Response

from unfasten.web.errors import Refused
from unfasten.web.render import page
from unfasten.web.settings import WebSettings
from unfasten.web.who import Reader, cookie_name, hashed, who_is

router = APIRouter()


@router.get("/sign-in", include_in_schema=False)
def form(request: Request) -> Response:
    """The page to sign in."""
    if who_is(request) is not None:
        return RedirectResponse("/", 303)
    return page(request, "sign_in.html.j2", trouble="")


@router.post("/sign-in", include_in_schema=False)
def enter(
    request: Request,
    name: Annotated[str, Form(max_length=200)],
    password: Annotated[str, Form(max_length=1000)],
) -> Response:
    """Check name and password; too many failures make the next ones wait, whoever tries."""
    from unfasten.service.accounts import sign_in

    settings: WebSettings = request.app.state.settings
    if not settings.lab:
        raise Refused(404, "web.nothing-here", "this server asks nobody to sign in", "go to the list of records")
    now = datetime.now(UTC)
    address = request.client.host if request.client else "unknown"
    account, why = sign_in(
        request.app.state.workspace.store.accounts,
        name,
        password,
        address,
        now,
        most=settings.attempts,
        within=timedelta(minutes=settings.attempts_minutes),
    )
    if account is None:
        answer = page(request, "sign_in.html.j2", trouble=why)
        answer.status_code = 429 if "wait" in why else 401
        return answer
    return _opened(request, account.name, now)


def _opened(request: Request, name: str, now: datetime) -> Response:
    from unfasten.store.account import Session, stamp

    settings: WebSettings = request.app.state.settings
    token = secrets.token_urlsafe(32)
    expires = now + timedelta(hours=settings.session_hours)
    session = Session(hashed(token), name, stamp(expires), secrets.token_urlsafe(32))
    request.app.state.workspace.store.accounts.open_session(session)
    answer = RedirectResponse("/", 303)
    answer.set_cookie(
        cookie_name(settings),
        token,
        max_age=settings.session_hours * 3600,
        path="/",
        secure=settings.secure,
        httponly=True,
        samesite="strict",
    )
    return answer


@router.post("/api/sign-out")
def leave(request: Request, who: Reader) -> Response:
    """End the session."""
    settings: WebSettings = request.app.state.settings
    token = request.cookies.get(cookie_name(settings), "")
    request.app.state.workspace.store.accounts.close_session(hashed(token))
    answer = Response(status_code=204)
    answer.delete_cookie(cookie_name(settings), path="/", secure=settings.secure, httponly=True, samesite="strict")
    return answer
