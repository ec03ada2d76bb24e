"""What every request goes through: known host, size, security headers, and errors in one shape."""

from __future__ import annotations

import secrets
from typing import Final
from urllib.parse import urlsplit

from starlette.datastructures import Headers, MutableHeaders
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from unfasten.web.errors import refusal
from unfasten.web.settings import WebSettings

SAFE: Final = ("GET", "HEAD", "OPTIONS")
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
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        scope["state"] = {**scope.get("state", {}), "request_id": secrets.token_hex(8)}
        reason = self._refused(scope)
        if reason is not None:
            await refusal(*reason)(scope, receive, self._dressed(scope, send))
            return
        await self.app(scope, self._limited(receive), self._dressed(scope, send))

    def _refused(self, scope: Scope) -> tuple[int, str, str, str] | None:
        headers = Headers(scope=scope)
        host = headers.get("host", "")
        name = host.rsplit(":", 1)[0] if not host.endswith("]") else host
        if name.lower() not in self.settings.hosts:
            return 421, "web.foreign-host", f"this server is not {host!r}", "call it by a name given to --host-name"
        origin = headers.get("origin")
        if scope["method"] not in SAFE and origin is not None and urlsplit(origin).netloc != host:
            return 403, "web.foreign-origin", "another site sent this request", "send it from the bench's own page"
        length = headers.get("content-length", "0")
        if not length.isdecimal() or int(length) > self.settings.most_bytes:
            most = self.settings.most_bytes // 1024 // 1024
            return 413, "web.too-large", f"more than {most} MB were sent", "send a smaller file"
        return None

    def _limited(self, receive: Receive) -> Receive:
        seen = 0

        async def limited() -> Message:
            nonlocal seen
            message = await receive()
            if message["type"] == "http.request":
                seen += len(message.get("body", b""))
                if seen > self.settings.most_bytes:
                    return {"type": "http.disconnect"}
            return message

        return limited

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
