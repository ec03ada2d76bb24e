"""Every operation against a table of what it may do; one that is not in the table fails."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest
from tests.support.web import HTML, Lab, is_error, operations
from tests.support.web_table import AS_JSON, GUARDED, METHODS, ROWS, UNSAFE, method, path, photo_held

from unfasten.web.guard import POLICY
from unfasten.web.who import TOKEN_HEADER

FOREIGN = (
    "evil.example", "", "bench.example.evil.example", "127.0.0.1:80@evil.example", "127.0.0.1:evil.example:80",
    "[::1]x", "169.254.169.254", "bench.example.",
)  # fmt: skip
ORIGINS = (
    "https://evil.example",
    "null",
    "http://bench.example.evil.example",
    "http://bench.example:81",
    "http://[::1",
    "",
)


def good(lab: Lab, name: str, who: str | None, **how: Any) -> Any:
    """Send the good request of a row, with changes."""
    row = ROWS[name]
    headers = how.pop("headers", {})
    return lab.ask(method(name), path(lab, name), who, headers=headers, **row.how(lab), **how)


def told(answer: Any, status: int, code: str) -> None:
    """Check a refusal: its status, its code, its shape, and that it tells nothing of the inside."""
    assert (answer.status_code, answer.json()["code"]) == (status, code)
    assert is_error(answer.json())
    assert answer.headers["content-type"] == "application/json"


def test_the_table_has_every_operation(lab: Lab) -> None:
    assert operations(lab.app) == set(ROWS)


def test_nothing_that_changes_something_is_open_but_what_is_guarded_otherwise() -> None:
    assert {name for name in UNSAFE if not ROWS[name].needs} == {name for name, row in ROWS.items() if row.is_form}


@pytest.fixture
def who_may(lab: Lab) -> Iterator[Lab]:
    """The lab, with those signed in again who were signed out."""
    yield lab
    for name in ("rea", "cora", "pia"):
        if lab.ask("GET", "/api/records", name).status_code == 401:
            lab.enter(name)


@pytest.mark.parametrize("name", sorted(ROWS))
def test_a_good_request_is_answered(who_may: Lab, name: str) -> None:
    row = ROWS[name]
    person = {"reader": "rea", "recorder": "cora", "publisher": "pia"}.get(row.needs)
    if row.is_stream:
        heard = who_may.stream(row.path, person)
        status, headers = heard.status, heard.headers
    else:
        answer = good(who_may, name, person)
        status, headers = answer.status_code, dict(answer.headers)
    assert (status, headers.get("content-type", "")) == (row.status, row.media)
    dressed(headers, is_report=False)


def dressed(headers: Any, *, is_report: bool) -> None:
    """Check the headers that every response carries."""
    assert headers["x-content-type-options"] == "nosniff"
    assert headers["x-frame-options"] == "DENY"
    assert headers["referrer-policy"] == "same-origin"
    assert headers["cross-origin-opener-policy"] == "same-origin"
    assert headers["cross-origin-resource-policy"] == "same-origin"
    assert (
        "no-store" in headers["cache-control"]
        or "private" in headers["cache-control"]
        or "max-age=3600" in headers["cache-control"]
    )
    assert "access-control-allow-origin" not in headers
    policy = headers["content-security-policy"]
    assert "frame-ancestors 'none'" in policy
    assert is_report or policy == POLICY
    assert is_report or "unsafe" not in policy
    assert "server" not in headers
    assert "x-powered-by" not in headers


@pytest.mark.parametrize("name", GUARDED)
def test_nobody_gets_in_without_a_session(lab: Lab, name: str) -> None:
    answer = good(lab, name, None)
    if name == "GET /":
        assert (answer.status_code, answer.headers["location"]) == (303, "/sign-in")
    else:
        told(answer, 401, "web.sign-in")
    dressed(answer.headers, is_report=False)
    for cookie in ("unfasten=", "unfasten=guessed", "unfasten=%00", "unfasten=" + "A" * 5000, "other=1"):
        assert good(lab, name, None, headers={"cookie": cookie}).status_code in (303, 401)


@pytest.mark.parametrize("name", [name for name in GUARDED if ROWS[name].media.startswith("text/html")])
def test_a_person_without_a_session_is_led_to_the_sign_in_page(lab: Lab, name: str) -> None:
    answer = good(lab, name, None, headers=HTML)
    led = answer.headers.get("location") == "/sign-in" or 'href="/sign-in"' in answer.text
    assert answer.status_code in (303, 401)
    assert led


@pytest.mark.parametrize("name", [name for name in ROWS if ROWS[name].needs in ("recorder", "publisher")])
def test_a_reader_changes_nothing(lab: Lab, name: str) -> None:
    photo_held(lab)
    before = lab.ask("GET", "/api/records/tarn-99/ledger", "rea").json()["seq"]
    told(good(lab, name, "rea"), 403, "web.not-allowed")
    assert lab.audit()[-1][:2] == ("rea", "refused")
    assert lab.audit()[-1][2].startswith(method(name))
    if "call-outs" not in name:
        assert lab.ask("GET", "/api/records/tarn-99/ledger", "rea").json()["seq"] == before


@pytest.mark.parametrize("name", [name for name in ROWS if ROWS[name].needs == "publisher"])
def test_a_recorder_does_not_do_what_a_publisher_does(lab: Lab, name: str) -> None:
    told(good(lab, name, "cora"), 403, "web.not-allowed")


@pytest.mark.parametrize("name", [name for name in UNSAFE if ROWS[name].needs])
def test_what_changes_something_carries_the_token_of_its_own_session(lab: Lab, name: str) -> None:
    who = "pia" if ROWS[name].needs == "publisher" else "cora"
    other = "cora" if who == "pia" else "pia"
    told(good(lab, name, who, token=False), 403, "web.token")
    for wrong in ("", "guessed", lab.people[other][1], lab.people[who][0], "\xe9"):
        headers = {TOKEN_HEADER: wrong.encode("latin-1")}
        told(good(lab, name, who, token=False, headers=headers), 403, "web.token")


@pytest.mark.parametrize("name", UNSAFE)
@pytest.mark.parametrize("origin", ORIGINS)
def test_another_site_changes_nothing(lab: Lab, name: str, origin: str) -> None:
    row = ROWS[name]
    answer = lab.ask(method(name), row.path, "pia", headers={"origin": origin})
    told(answer, 403, "web.foreign-origin")
    dressed(answer.headers, is_report=False)


@pytest.mark.parametrize("name", UNSAFE)
def test_the_own_site_is_no_other_site(lab: Lab, name: str) -> None:
    answer = lab.ask(method(name), ROWS[name].path, headers={"origin": "http://bench.example"})
    assert answer.json()["code"] != "web.foreign-origin"


@pytest.mark.parametrize("name", sorted(ROWS))
@pytest.mark.parametrize("host", FOREIGN)
def test_a_foreign_name_reaches_nothing(lab: Lab, name: str, host: str) -> None:
    answer = lab.ask(method(name), ROWS[name].path, "pia", headers={"host": host})
    told(answer, 421, "web.foreign-host")
    dressed(answer.headers, is_report=False)


@pytest.mark.parametrize("name", UNSAFE)
def test_a_body_that_is_too_large_is_refused(lab: Lab, name: str) -> None:
    row = ROWS[name]
    much = b"x" * 500_000
    types = {
        "content-type": "application/json" if row.wrong and b"=" in row.wrong[0] else "multipart/form-data; boundary=b"
    }
    declared = lab.ask(method(name), row.path, "pia", content=much, headers=types)
    told(declared, 413, "web.too-large")
    for length in ("-1", "1e9", "0x10", "9" * 5000, "\xb2"):
        headers = {**types, "content-length": length.encode("latin-1")}
        told(lab.ask(method(name), row.path, "pia", content=b"", headers=headers), 413, "web.too-large")


KINDS = ("application/json", "multipart/form-data; boundary=b", "application/x-www-form-urlencoded")


@pytest.mark.parametrize("name", [name for name in UNSAFE if ROWS[name].wrong])
@pytest.mark.parametrize("kind", KINDS)
def test_a_body_that_does_not_say_its_length_is_cut_off(lab: Lab, name: str, kind: str) -> None:
    read: list[int] = []

    async def pieces() -> Any:
        yield b'--b\r\nContent-Disposition: form-data; name="file"; filename="a"\r\n\r\n'
        for _ in range(100):
            read.append(10_000)
            yield b"x" * 10_000

    answer = lab.ask(method(name), ROWS[name].path, "pia", content=pieces(), headers={"content-type": kind})
    is_read = kind != KINDS[0] or ROWS[name].wrong != AS_JSON
    told(answer, *((413, "web.too-large") if is_read else (422, "web.unread")))
    dressed(answer.headers, is_report=False)
    assert sum(read) <= 410_000


@pytest.mark.parametrize("name", [name for name in UNSAFE if ROWS[name].wrong])
@pytest.mark.parametrize(
    "kind", ["own", "text/plain", "", "application/xml", "multipart/form-data", "application/json; x"]
)
def test_a_body_of_another_kind_is_refused(lab: Lab, name: str, kind: str) -> None:
    body, own = ROWS[name].wrong or (b"", "")
    answer = lab.ask(
        method(name), ROWS[name].path, "pia", content=body, headers={"content-type": kind if kind != "own" else own}
    )
    assert answer.status_code in (400, 422)
    assert is_error(answer.json())


@pytest.mark.parametrize("name", sorted(ROWS))
def test_other_methods_are_answered_with_those_that_there_are(lab: Lab, name: str) -> None:
    own = {method(other) for other in ROWS if other.partition(" ")[2] == name.partition(" ")[2]}
    for other in sorted(set(METHODS) - own):
        answer = lab.ask(other, ROWS[name].path.replace("{photo}", "0" * 64), "pia")
        told(answer, 405, "web.http-405")
        assert name.startswith("MOUNT") or set(answer.headers["allow"].split(", ")) <= own | {"HEAD"}
        dressed(answer.headers, is_report=False)
