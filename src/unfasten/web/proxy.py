"""A server behind a proxy that speaks TLS for it: whom the proxy's word is taken from, and for what.

Nothing but the named proxy's own connections is answered, so that nobody can send what only a proxy may say. Of what it
says two things are read: that the browser spoke TLS (`X-Forwarded-Proto`), and from where it called (`X-Forwarded-For`,
the last address that no named proxy has, as each one appends whom it was called by: RFC 7239, section 5.2, for the
header that those two became).
"""

from __future__ import annotations

from ipaddress import IPv4Address, IPv6Address, ip_address
from typing import Final

from starlette.datastructures import Headers
from starlette.types import Scope

from unfasten.web.errors import Refusal

PROTO: Final = "x-forwarded-proto"
CLIENT: Final = "x-forwarded-for"
Address = IPv4Address | IPv6Address


def address_of(text: str) -> Address | None:
    """Read an address; an IPv4 address that is written as IPv6 is IPv4. None if it is none."""
    try:
        found = ip_address(text.strip())
    except ValueError:
        return None
    return (found.ipv4_mapped or found) if isinstance(found, IPv6Address) else found


def seen_through(scope: Scope, proxies: frozenset[Address]) -> Scope | Refusal:
    """The request as the browser made it to the proxy, or why it is not answered."""
    peer = scope.get("client")
    if peer is None or address_of(str(peer[0])) not in proxies:
        return Refusal(403, "web.not-the-proxy", "this server is reached through its proxy only", "call the proxy")
    headers = Headers(scope=scope)
    proto = [one.strip().lower() for line in headers.getlist(PROTO) for one in line.split(",")]
    if proto[-1:] != ["https"]:
        remedy = f"let the proxy speak TLS only, and set {PROTO} to https"
        return Refusal(400, "web.proxy", "the proxy does not say that the browser spoke TLS to it", remedy)
    passed = [address_of(one) for line in headers.getlist(CLIENT) for one in line.split(",")]
    while passed and passed[-1] in proxies:
        passed.pop()
    client = passed[-1] if passed else None
    if client is None:
        return Refusal(400, "web.proxy", "the proxy does not say who called it", f"let the proxy set {CLIENT}")
    return {**scope, "client": (str(client), 0), "scheme": "https"}
