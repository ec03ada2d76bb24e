"""Signing in and out of a lab's server."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Annotated

from fastapi import APIRouter, Form, Request
from fastapi.responses import RedirectResponse, Response

from unfasten.service.accounts import SignInRefused, Ticket, sign_in, sign_out
from unfasten.web.errors import Refused, described, plain
from unfasten.web.render import page
from unfasten.web.settings import WebSettings
from unfasten.web.who import Reader, cookie_name, who_is

router = APIRouter(responses=described())


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
    """Check name and password; after too many failures the next ones have to wait (`service.attempts`)."""
    settings: WebSettings = request.app.state.settings
    if not settings.lab:
        raise Refused(404, "web.nothing-here", "this server asks nobody to sign in", "go to the list of records")
    address = request.client.host if request.client else "unknown"
    accounts = request.app.state.workspace.store.accounts
    now = datetime.now(UTC)
    try:
        with request.app.state.sign_in:  # one after the other: each failure is counted before the next is tried
            ticket = sign_in(accounts, plain(name), password, address, now)
    except SignInRefused as refused:
        answer = page(request, "sign_in.html.j2", trouble=f"{refused.message}; {refused.remedy}")
        answer.status_code = 401
        if refused.wait is not None:
            answer.status_code, answer.headers["retry-after"] = 429, str(int(refused.wait.total_seconds()))
        return answer
    sign_out(accounts, request.cookies.get(cookie_name(settings), ""), now)
    accounts.sweep(now)
    return _opened(settings, ticket)


def _opened(settings: WebSettings, ticket: Ticket) -> Response:
    answer = RedirectResponse("/", 303)
    answer.set_cookie(
        cookie_name(settings),
        ticket.token,
        expires=ticket.expires,
        path="/",
        secure=settings.secure,
        httponly=True,
        samesite="strict",
    )
    return answer


@router.post("/api/sign-out", status_code=204)
def leave(request: Request, who: Reader) -> Response:
    """End the session."""
    settings: WebSettings = request.app.state.settings
    token = request.cookies.get(cookie_name(settings), "")
    sign_out(request.app.state.workspace.store.accounts, token, datetime.now(UTC))
    answer = Response(status_code=204)
    answer.delete_cookie(cookie_name(settings), path="/", secure=settings.secure, httponly=True, samesite="strict")
    return answer
