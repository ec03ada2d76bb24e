"""How the server is run: where the records lie, who may come in, and what is too much."""

from __future__ import annotations

import secrets
from dataclasses import dataclass
from datetime import date
from ipaddress import IPv4Address, IPv6Address
from pathlib import Path
from typing import Final

from unfasten.evidence.errors import CallError

LOOPBACK: Final = ("127.0.0.1", "localhost", "[::1]")
KEY_FILE: Final = "server.key"


@dataclass(frozen=True, slots=True)
class WebSettings:
    """Settings of one server.

    `lab` asks everybody to sign in; without it only this machine is served, and what it does is entered under `name`.
    `hosts` are the names under which the server may be called. `key` keeps forged requests out. `secure`: browsers
    reach it over TLS, which it speaks itself, or one of the `proxies`; with proxies, nobody else is answered.
    """

    folder: Path
    on: date
    key: bytes
    lab: bool = False
    secure: bool = False
    name: str = "bench"
    hosts: tuple[str, ...] = LOOPBACK
    base: str | None = None
    proxies: frozenset[IPv4Address | IPv6Address] = frozenset()
    most_bytes: int = 64 * 1024 * 1024
    most_pixels: int = 120_000_000


def server_key(folder: Path) -> bytes:
    """The secret of a workspace, made once: pages that were open before a restart can still send what they hold."""
    path = folder / KEY_FILE
    try:
        folder.mkdir(parents=True, exist_ok=True)
        if not path.exists():
            part = path.with_suffix(".part")
            part.touch(mode=0o600)
            part.write_text(secrets.token_hex(32), "ascii")
            part.rename(path)
        return bytes.fromhex(path.read_text("ascii").strip())
    except OSError as error:
        remedy = "name a folder that can be written"
        raise CallError("workspace.folder", str(folder), error.strerror or str(error), remedy) from error
    except ValueError as error:
        remedy = "remove the file; open pages then have to be loaded anew"
        raise CallError("workspace.key", str(path), "it does not hold the server's key", remedy) from error
