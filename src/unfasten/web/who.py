"""Who is at the bench, and what they may do."""

from __future__ import annotations

import hashlib
import hmac
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Annotated, Any, Final

from fastapi import Depends, Request

from unfasten.service.accounts import note, session_of
from unfasten.store.account import ROLES, Role
from unfasten.web.errors import Refused, plain
from unfasten.web.settings import WebSettings

COOKIE: Final = "unfasten"
#: cookie of a server reached over TLS; browsers take a name that begins so only if it is secure and bound to the host
SECURE_COOKIE: Final = "__Host-unfasten"
TOKEN_HEADER: Final = "x-unfasten-token"


@dataclass(frozen=True, slots=True)
class Who:
    """The person a request comes from; `token` has to come back with every request that changes something."""

    name: str
    role: Role
    token: str
    signed_in: bool

    def may(self, role: Role) -> bool:
        """Tell whether the person's role includes another."""
        return ROLES.index(self.role) >= ROLES.index(role)


def cookie_name(settings: WebSettings) -> str:
    """Name of the session's cookie."""
    return SECURE_COOKIE if settings.secure else COOKIE


def who_is(request: Request) -> Who | None:
    """The person behind a request; None: nobody has signed in."""
    settings: WebSettings = request.app.state.settings
    if not settings.lab:
        token = hmac.new(settings.key, b"loopback", hashlib.sha256).hexdigest()
        return Who(settings.name, "publisher", token, False)
    cookie = request.cookies.get(cookie_name(settings))
    if not cookie:
        return None
    found = session_of(request.app.state.workspace.store.accounts, cookie, datetime.now(UTC))
    if found is None:
        return None
    account, secret = found
    return Who(account.name, account.role, secret, True)


def _needs(role: Role) -> Any:
    def check(request: Request) -> Who:
        who = who_is(request)
        if who is None:
            raise Refused(401, "web.sign-in", "nobody has signed in", "sign in")
        if not who.may(role):
            accounts = request.app.state.workspace.store.accounts
            note(accounts, datetime.now(UTC), who.name, "refused", f"{request.method} {plain(request.url.path)[:200]}")
            raise Refused(403, "web.not-allowed", f"{who.name} is a {who.role}", f"ask for the role {role}")
        if request.method not in ("GET", "HEAD", "OPTIONS"):
            _check_token(request, who)
        return who

    return Depends(check)


def _check_token(request: Request, who: Who) -> None:
    sent = request.headers.get(TOKEN_HEADER, "")
    if not hmac.compare_digest(sent.encode("utf-8", "replace"), who.token.encode()):
        raise Refused(403, "web.token", "the request does not carry the page's token", "load the page anew")


Reader = Annotated[Who, _needs("reader")]
Recorder = Annotated[Who, _needs("recorder")]
Publisher = Annotated[Who, _needs("publisher")]
