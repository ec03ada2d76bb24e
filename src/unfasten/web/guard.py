"""What every request goes through: known host, size, security headers, and errors in one shape."""

from __future__ import annotations

import secrets
from typing import Final
from urllib.parse import urlsplit

from fastapi import Request
from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from unfasten.web.errors import Refusal, refusal
from unfasten.web.proxy import seen_through
from unfasten.web.settings import WebSettings

SAFE: Final = ("GET", "HEAD", "OPTIONS")
#: a body whose length has more digits than this is too large whatever the limit
DIGITS: Final = 15
#: a page may load nothing but what this server gives; images may also be made in the page itself
POLICY: Final = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' blob:; connect-src 'self'; "
    "form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)
#: the report is one file that carries its style and script inside; it is shown without rights of the page around it
REPORT_POLICY: Final = (
    "default-src 'none'; style-src 'unsafe-inline'; script-src 'unsafe-inline'; img-src data:; "
    "sandbox allow-scripts; frame-ancestors 'none'"
)
HEADERS: Final = {
    "x-content-type-options": "nosniff",
    "referrer-policy": "same-origin",
    "x-frame-options": "DENY",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "permissions-policy": "camera=(self), geolocation=(), microphone=()",
}


class Guard:
    """ASGI middleware; refuses foreign hosts, foreign origins and oversized bodies before anything is read."""

    def __init__(self, app: ASGIApp, settings: WebSettings) -> None:
        self.app = app
        self.settings = settings

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Handle one request."""
        if scope["type"] == "websocket":
            await receive()
            await send({"type": "websocket.close", "code": 1008, "reason": "no sockets are spoken here"})
            return
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        scope["state"] = {**scope.get("state", {}), "request_id": secrets.token_hex(8)}
        seen = seen_through(scope, self.settings.proxies) if self.settings.proxies else scope
        if not isinstance(seen, Refusal):
            scope = seen
            seen = self._refused(scope) or seen
        if isinstance(seen, Refusal):
            await refusal(*seen)(scope, receive, self._dressed(scope, send))
            return
        limit = _Limit(self.settings.most_bytes, receive)
        await self.app(scope, limit.receive, limit.answering(scope, self._dressed(scope, send)))

    def _refused(self, scope: Scope) -> Refusal | None:
        headers = Headers(scope=scope)
        host = headers.get("host", "")
        if _name_of(host) not in self.settings.hosts:
            remedy = "call it by a name given to --host-name"
            return Refusal(421, "web.foreign-host", f"this server is not {host!r}", remedy)
        origin = headers.get("origin")
        if scope["method"] not in SAFE and origin is not None and not _is_from(origin, host):
            remedy = "send it from the bench's own page"
            return Refusal(403, "web.foreign-origin", "another site sent this request", remedy)
        length = headers.get("content-length", "0")
        if not length.isdecimal() or len(length) > DIGITS or int(length) > self.settings.most_bytes:
            return _too_large(self.settings.most_bytes)
        return None

    def _dressed(self, scope: Scope, send: Send) -> Send:
        async def dressed(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                for name, value in HEADERS.items():
                    headers.setdefault(name, value)
                headers.setdefault("content-security-policy", POLICY)
                headers.setdefault("cache-control", "no-store")
                if self.settings.secure:
                    headers.setdefault("strict-transport-security", "max-age=31536000")
            await send(message)

        return dressed


class _Limit:
    """Lets a body through up to a number of bytes; one that is longer, and did not say so, is answered with 413."""

    def __init__(self, most: int, receive: Receive) -> None:
        self._most = most
        self._receive = receive
        self._seen = 0
        self._is_answered = False

    async def receive(self) -> Message:
        message = await self._receive()
        if message["type"] == "http.request":
            self._seen += len(message.get("body", b""))
            if self._seen > self._most:
                return {"type": "http.disconnect"}
        return message

    def answering(self, scope: Scope, send: Send) -> Send:
        async def answer(message: Message) -> None:
            if self._seen <= self._most:
                await send(message)
            elif not self._is_answered:
                self._is_answered = True
                await refusal(*_too_large(self._most))(scope, self._receive, send)

        return answer


async def unexpected(request: Request, error: Exception) -> Response:
    """The answer where the program itself failed: it tells nothing of the inside, which the server's log has."""
    remedy = "nothing of this request is known to be kept; tell who runs the server what you did"
    answer = refusal(500, "web.unexpected", "the server made a mistake", remedy)
    answer.headers.update({**HEADERS, "content-security-policy": POLICY, "cache-control": "no-store"})
    return answer


def _too_large(most: int) -> Refusal:
    return Refusal(413, "web.too-large", f"more than {most / 1024 / 1024:.3g} MB were sent", "send a smaller file")


def _name_of(host: str) -> str:
    """The name in a Host header, without its port; empty if the port is no number."""
    name, colon, port = host.rpartition(":")
    if not colon or host.endswith("]"):
        return host.lower()
    return name.lower() if port.isdecimal() else ""


def _is_from(origin: str, host: str) -> bool:
    try:
        return urlsplit(origin).netloc == host
    except ValueError:
        return False
