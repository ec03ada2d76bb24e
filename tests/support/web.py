"""A lab's server in this process: its application, three people signed in, and a record with a photo."""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Coroutine, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from datetime import UTC, date, datetime
from html.parser import HTMLParser
from pathlib import Path
from threading import Thread
from typing import Any, TypeVar
from unittest.mock import patch
from uuid import uuid4

import httpx
from argon2 import PasswordHasher
from fastapi import FastAPI
from tests.support.patience import PATIENCE_S
from tests.support.photo_files import jpeg

from unfasten.service import accounts
from unfasten.service.accounts import add_account
from unfasten.service.bench.begin import begin_record
from unfasten.store.contract import Accounts
from unfasten.web.app import make_app
from unfasten.web.settings import WebSettings
from unfasten.web.who import TOKEN_HEADER

CHEAP = PasswordHasher(time_cost=1, memory_cost=64, parallelism=1)
ON = date(2026, 4, 1)
HOST = "bench.example"
KEY = bytes(range(32))
RECORD = "tarn-99"
PASSWORD = "a quiet bench at dusk"
PEOPLE = {"rea": "reader", "cora": "recorder", "pia": "publisher"}
JSON = {"accept": "application/json"}
HTML = {"accept": "text/html,application/xhtml+xml"}


def settings(folder: Path, **more: Any) -> WebSettings:
    """Settings of a lab's server that phones can reach; `more` replaces some."""
    made = WebSettings(folder, ON, KEY, lab=True, hosts=("127.0.0.1", HOST), base=f"http://{HOST}")
    return replace(made, **more)


T = TypeVar("T")


class Loop:
    """An event loop in a thread of its own, in which the application runs as it does in a server."""

    def __init__(self) -> None:
        self.loop = asyncio.new_event_loop()
        self._thread = Thread(target=self.loop.run_forever)
        self._thread.start()

    def run(self, work: Coroutine[Any, Any, T], timeout: float = PATIENCE_S) -> T:
        """Do work in the loop, and wait for it."""
        return asyncio.run_coroutine_threadsafe(work, self.loop).result(timeout)

    def close(self) -> None:
        """Stop the loop."""
        self.run(self.loop.shutdown_default_executor())
        self.loop.call_soon_threadsafe(self.loop.stop)
        self._thread.join()
        self.loop.close()


@dataclass
class Lab:
    """A running application; `ask` sends a request as a person would, with the cookie and the token of the page."""

    app: FastAPI
    loop: Loop
    people: dict[str, tuple[str, str]] = field(default_factory=dict)
    example: str = ""

    @property
    def accounts(self) -> Accounts:
        """The accounts."""
        accounts: Accounts = self.app.state.workspace.store.accounts
        return accounts

    def ask(
        self,
        method: str,
        path: str,
        who: str | None = None,
        *,
        token: bool = True,
        address: str = "10.0.0.7",
        **how: Any,
    ) -> httpx.Response:
        """Send one request as a person (None: nobody) from an address; without `token` as a forged page would."""
        headers = {**JSON, **how.pop("headers", {})}
        if who is not None:
            cookie, secret = self.people[who]
            headers = {"cookie": f"unfasten={cookie}", **({TOKEN_HEADER: secret} if token else {}), **headers}
        return self.loop.run(self._send(method, path, address, headers=headers, **how))

    async def _send(self, method: str, path: str, address: str, **how: Any) -> httpx.Response:
        door = httpx.ASGITransport(self.app, raise_app_exceptions=False, client=(address, 50_000))
        async with httpx.AsyncClient(transport=door, base_url=f"http://{HOST}") as client:
            return await client.request(method, path, **how)

    def stream(self, path: str, who: str | None, until: str = "", then: Callable[[], Any] | None = None) -> Heard:
        """Listen until a message holds some words; after the first message, `then` is done in a thread of its own."""
        return self.loop.run(_listened(self, path, who, until, then))

    def sign_in(self, name: str, password: str = PASSWORD, **how: Any) -> Any:
        """Send the form."""
        return self.ask("POST", "/sign-in", data={"name": name, "password": password}, **how)

    def enter(self, name: str) -> None:
        """Sign a person in, and keep cookie and token."""
        answer = self.sign_in(name)
        assert answer.status_code == 303, answer.text
        cookie = answer.cookies["unfasten"]
        self.people[name] = (cookie, self.token_of("/", headers={"cookie": f"unfasten={cookie}"}))

    def token_of(self, path: str, **how: Any) -> str:
        """The token that a page holds."""
        page = self.ask("GET", path, **how)
        return str(next(tag[1]["content"] for tag in tags(page.text) if tag[1].get("name") == "token"))

    def add(self, name: str, role: str) -> None:
        """Make an account."""
        add_account(self.accounts, name, role, PASSWORD, datetime.now(UTC))

    def audit(self) -> list[tuple[str | None, str, str]]:
        """Who did what to what, oldest first."""
        return [(event.by, event.what, event.about) for event in self.accounts.events()]


@dataclass
class Heard:
    """What came of a stream: its status, headers, messages, and whether the server ended it."""

    status: int = 0
    headers: dict[str, str] = field(default_factory=dict)
    messages: list[str] = field(default_factory=list)
    is_over: bool = False


async def _listened(lab: Lab, path: str, who: str | None, until: str, then: Callable[[], Any] | None) -> Heard:
    heard, enough = Heard(), asyncio.Event()
    cookie = f"unfasten={lab.people[who][0]}" if who else ""
    address, _, query = path.partition("?")
    scope = {
        "type": "http", "asgi": {"version": "3.0"}, "http_version": "1.1", "method": "GET", "scheme": "http",
        "path": address, "raw_path": address.encode(), "query_string": query.encode(), "root_path": "",
        "headers": [(b"host", HOST.encode()), (b"cookie", cookie.encode()), (b"accept", b"*/*")],
        "client": ("10.0.0.7", 50_000), "server": (HOST, 80),
    }  # fmt: skip
    asked = iter([{"type": "http.request", "body": b"", "more_body": False}])

    async def receive() -> dict[str, Any]:
        for message in asked:
            return message
        await enough.wait()
        return {"type": "http.disconnect"}

    async def send(message: Any) -> None:
        if message["type"] == "http.response.start":
            heard.status = message["status"]
            heard.headers = {name.decode(): value.decode() for name, value in message["headers"]}
            return
        heard.is_over = not message.get("more_body", False)
        if message.get("body"):
            heard.messages.append(message["body"].decode())
            if len(heard.messages) == 1 and then is not None:
                done.append(asyncio.get_running_loop().run_in_executor(None, then))
        if any(until in message for message in heard.messages[-1:]):
            enough.set()

    done: list[asyncio.Future[Any]] = []
    await asyncio.wait_for(lab.app(scope, receive, send), PATIENCE_S / 2)
    await asyncio.gather(*done)
    return heard


@contextmanager
def running(made: WebSettings, *, people: bool = True) -> Iterator[Lab]:
    """Run the application with one record; in a lab with its three people signed in, or with nobody."""
    lab = Lab(make_app(made), Loop())
    life = lab.app.router.lifespan_context(lab.app)
    lab.loop.run(life.__aenter__())
    cheap = patch.object(accounts, "_hasher", lambda: CHEAP)  # what a hash costs is tried where hashes are made
    accounts._dummy_hash.cache_clear()
    cheap.start()
    try:
        now = datetime.now(UTC)
        begin_record(lab.app.state.workspace.store, new_record(), at=now, by=None)
        for name, role in PEOPLE.items() if made.lab and people else ():
            lab.add(name, role)
            lab.enter(name)
        yield lab
    finally:
        cheap.stop()
        accounts._dummy_hash.cache_clear()
        lab.loop.run(life.__aexit__(None, None, None))
        lab.loop.close()


def operations(app: FastAPI) -> set[str]:
    """Every operation of an application, `GET /api/records/{record}`; what is mounted as `MOUNT /static`."""
    found: set[str] = set()
    waiting: list[Any] = list(app.routes)
    while waiting:
        route = waiting.pop()
        inner = getattr(route, "original_router", None)
        if inner is not None:
            waiting += inner.routes
        elif getattr(route, "methods", None):
            found |= {f"{method} {route.path}" for method in route.methods if method != "HEAD"}
        else:
            found.add(f"MOUNT {route.path}")
    return found


def new_record(record: str = RECORD, **more: Any) -> dict[str, Any]:
    """What begins a record."""
    plain = {"id": record, "name": "Tarn 99", "maker": "Fellwright", "category": "slate-tablet"}
    return {**plain, "frame": "frame", "survey": "partial", **more}


def line(text: str, **more: Any) -> dict[str, Any]:
    """A line as a page sends it."""
    return {"id": str(uuid4()), "line": text, "at": datetime.now(UTC).isoformat(), **more}


def lines(*texts: str, **more: Any) -> dict[str, Any]:
    """Lines as a page sends them."""
    return {"lines": [line(text, **more) for text in texts]}


def photo(name: str = "bench.jpg", data: bytes | None = None, kind: str = "image/jpeg") -> dict[str, Any]:
    """An upload."""
    return {"file": (name, jpeg() if data is None else data, kind)}


class _Tags(HTMLParser):
    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.found: list[tuple[str, dict[str, str | None]]] = []
        self.words: list[str] = []
        self.comments: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.found.append((tag, dict(attrs)))

    def handle_data(self, data: str) -> None:
        self.words.append(data)

    def handle_comment(self, data: str) -> None:
        self.comments.append(data)


def tags(page: str) -> list[tuple[str, dict[str, str | None]]]:
    """Elements of a page with their attributes."""
    return parsed(page).found


def parsed(page: str) -> _Tags:
    """A page read as a browser would: `found` elements, `words` between them, `comments`."""
    reader = _Tags()
    reader.feed(page)
    reader.close()
    return reader


def is_error(body: Mapping[str, Any]) -> bool:
    """Tell whether a body has the one shape of errors."""
    needed = {"ok", "code", "where", "message", "try"}
    words = all(isinstance(body[key], str) for key in needed - {"ok"}) if needed <= set(body) else False
    return words and body["ok"] is False and set(body) <= {*needed, "findings"}
