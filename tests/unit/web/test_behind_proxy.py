"""A server behind a proxy that speaks TLS: whom it believes, what it believes, and what it does not."""

from __future__ import annotations

from collections.abc import Iterator
from ipaddress import ip_address
from pathlib import Path
from typing import Any

import pytest
from tests.support.web import Lab, is_error, running, settings

from unfasten.service.attempts import PAIR
from unfasten.web.proxy import address_of, seen_through

PROXY = "10.0.0.2"
TOLD = {"x-forwarded-proto": "https", "x-forwarded-for": "198.51.100.7"}


@pytest.fixture
def lab(tmp_path: Path) -> Iterator[Lab]:
    """A lab with one reader, behind a proxy."""
    made = settings(tmp_path, secure=True, proxies=frozenset({ip_address(PROXY)}), hosts=("bench.example",))
    with running(made, people=False) as lab:
        lab.add("rea", "reader")
        yield lab


def test_the_cookie_is_secure_and_the_browsers_address_is_known(lab: Lab) -> None:
    answer = lab.sign_in("rea", address=PROXY, headers=TOLD)
    assert answer.status_code == 303
    name, _, rest = answer.headers["set-cookie"].partition("=")
    assert name == "__Host-unfasten"
    assert "Secure" in rest.split("; ")
    assert answer.headers["strict-transport-security"] == "max-age=31536000"
    assert lab.audit()[-1] == ("rea", "signed-in", "198.51.100.7")
    cookie = {"cookie": f"{name}={rest.partition(';')[0]}", **TOLD}
    assert lab.ask("GET", "/api/records", address=PROXY, headers=cookie).status_code == 200


@pytest.mark.parametrize("address", ["10.0.0.3", "127.0.0.1", "::1", "unknown"])
@pytest.mark.parametrize("headers", [TOLD, {}, {**TOLD, "x-forwarded-for": PROXY}])
def test_nobody_but_the_proxy_is_answered(lab: Lab, address: str, headers: dict[str, str]) -> None:
    for method, path in (("GET", "/sign-in"), ("GET", "/static/bench.css"), ("POST", "/sign-in")):
        answer = lab.ask(method, path, address=address, headers=headers)
        assert (answer.status_code, answer.json()["code"]) == (403, "web.not-the-proxy")
        assert is_error(answer.json())
        assert answer.headers["x-frame-options"] == "DENY"


@pytest.mark.parametrize(
    "headers",
    [
        {},
        {"x-forwarded-for": "198.51.100.7"},
        {"x-forwarded-proto": "https"},
        {**TOLD, "x-forwarded-proto": "http"},
        {**TOLD, "x-forwarded-proto": "https, http"},
        {**TOLD, "x-forwarded-proto": ""},
        {**TOLD, "x-forwarded-for": ""},
        {**TOLD, "x-forwarded-for": "198.51.100.7, somewhere"},
        {**TOLD, "x-forwarded-for": PROXY},
    ],
)
def test_a_proxy_that_does_not_say_enough_is_told(lab: Lab, headers: dict[str, str]) -> None:
    answer = lab.ask("GET", "/sign-in", address=PROXY, headers=headers)
    assert (answer.status_code, answer.json()["code"]) == (400, "web.proxy")
    assert "x-forwarded-" in answer.json()["try"]


@pytest.mark.parametrize(
    ("said", "client"),
    [
        ("198.51.100.7", "198.51.100.7"),
        ("192.0.2.1, 198.51.100.7", "198.51.100.7"),
        (f"192.0.2.1, 198.51.100.7, {PROXY}", "198.51.100.7"),
        ("made up, 198.51.100.7", "198.51.100.7"),
        ("::ffff:198.51.100.7", "198.51.100.7"),
        ("2001:db8::7", "2001:db8::7"),
    ],
)
def test_the_last_address_that_the_proxies_added_is_the_browsers(said: str, client: str) -> None:
    headers = [(b"x-forwarded-proto", b"https"), *((b"x-forwarded-for", one.encode()) for one in said.split(", "))]
    for given in (headers, [(b"x-forwarded-proto", b"https"), (b"x-forwarded-for", said.encode())]):
        scope: Any = {"type": "http", "client": (PROXY, 4711), "scheme": "http", "headers": given}
        seen = seen_through(scope, frozenset({ip_address(PROXY)}))
        assert isinstance(seen, dict)
        assert (seen["client"][0], seen["scheme"]) == (client, "https")
        assert scope["client"] == (PROXY, 4711)


def test_a_browser_cannot_take_another_address_to_go_on_guessing(lab: Lab) -> None:
    answers = []
    for number in range(PAIR.most + 1):
        headers = {**TOLD, "x-forwarded-for": f"203.0.113.{number}, 198.51.100.7"}
        answers.append(lab.sign_in("rea", "wrong", address=PROXY, headers=headers).status_code)
    assert answers == [401] * PAIR.most + [429]
    other = {**TOLD, "x-forwarded-for": "198.51.100.8"}
    assert lab.sign_in("rea", address=PROXY, headers=other).status_code == 303


def test_the_name_is_the_hosts_and_not_what_is_forwarded(lab: Lab) -> None:
    headers = {**TOLD, "host": "evil.example", "x-forwarded-host": "bench.example", "forwarded": "host=bench.example"}
    answer = lab.ask("GET", "/sign-in", address=PROXY, headers=headers)
    assert (answer.status_code, answer.json()["code"]) == (421, "web.foreign-host")
    foreign = {**TOLD, "origin": "https://evil.example"}
    assert lab.sign_in("rea", address=PROXY, headers=foreign).json()["code"] == "web.foreign-origin"
    own = {**TOLD, "origin": "https://bench.example"}
    assert lab.sign_in("rea", address=PROXY, headers=own).status_code == 303


def test_without_a_proxy_nothing_that_is_forwarded_is_believed(tmp_path: Path) -> None:
    with running(settings(tmp_path), people=False) as plain:
        plain.add("rea", "reader")
        answer = plain.sign_in("rea", address="127.0.0.1", headers=TOLD)
        assert answer.headers["set-cookie"].startswith("unfasten=")
        assert plain.audit()[-1] == ("rea", "signed-in", "127.0.0.1")


def test_what_is_no_address() -> None:
    assert [address_of(text) for text in ("", "bench", "10.0.0.0/8", "10.0.0.2:80")] == [None] * 4
