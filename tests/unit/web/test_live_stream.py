"""The stream of a record: who may listen, what is told, and when it ends; and what is not spoken at all."""

from __future__ import annotations

import json
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from tests.support.web import HOST, RECORD, Lab, lines, running, settings

from unfasten.service.accounts import disable_account
from unfasten.web import room

LIVE = f"/api/records/{RECORD}/live"
ROOM = f"/api/records/{RECORD}/lines"


@pytest.fixture
def fresh(tmp_path: Path, ledger_in: str, monkeypatch: pytest.MonkeyPatch) -> Iterator[Lab]:
    """A lab of the test's own, whose streams look often whether they are still welcome."""
    monkeypatch.setattr(room, "QUIET_S", 0.2)
    with running(settings(tmp_path)) as made:
        yield made


def told(messages: list[str]) -> list[tuple[str, Any]]:
    """Kind and data of each message."""
    pairs = [message.rstrip("\n").split("\n") for message in messages if message.startswith("event: ")]
    return [(kind.removeprefix("event: "), json.loads(data.removeprefix("data: "))) for kind, data in pairs]


def test_nobody_listens_without_a_session(lab: Lab) -> None:
    heard = lab.stream(LIVE, None)
    assert heard.status == 401
    assert heard.is_over


def test_a_record_that_is_not_there_has_no_stream(lab: Lab) -> None:
    assert lab.stream("/api/records/other/live", "rea").status == 404


@pytest.mark.parametrize("after", ["-1", "x", str(2**60), "1e3"])
def test_a_stream_begins_after_a_number(lab: Lab, after: str) -> None:
    assert lab.stream(f"{LIVE}?after={after}", "rea").status == 422


def test_an_entry_of_one_reaches_the_other(fresh: Lab) -> None:
    heard = fresh.stream(LIVE, "rea", "note hello", lambda: fresh.ask("POST", ROOM, "cora", json=lines("note hello")))
    assert heard.status == 200
    said = [row for kind, rows in told(heard.messages) if kind == "rows" for row in rows]
    assert {("cora", "note hello")} <= {(row["by"], row["text"]) for row in said}


@pytest.mark.parametrize("how", ["disabled", "signed out"])
def test_a_stream_ends_with_the_session(fresh: Lab, how: str) -> None:
    def end() -> None:
        if how == "disabled":
            disable_account(fresh.accounts, "rea", datetime.now(UTC))
        else:
            fresh.ask("POST", "/api/sign-out", "rea")
        fresh.ask("POST", ROOM, "cora", json=lines("note a secret"))

    heard = fresh.stream(LIVE, "rea", "never said", end)
    assert heard.is_over
    assert "a secret" not in "".join(heard.messages)
    assert fresh.loop.run(fresh.app.state.hub.room(RECORD)).listeners == set()


def test_no_sockets_are_spoken(lab: Lab) -> None:
    for path in (LIVE, "/static/bench.js", "/", "/nowhere"):
        said: list[dict[str, Any]] = []

        async def receive() -> dict[str, Any]:
            return {"type": "websocket.connect"}

        async def send(message: Any, said: list[dict[str, Any]] = said) -> None:
            said.append(message)

        scope = {
            "type": "websocket", "path": path, "raw_path": path.encode(), "query_string": b"", "root_path": "",
            "headers": [(b"host", HOST.encode())], "subprotocols": [], "scheme": "ws", "client": None, "server": None,
        }  # fmt: skip
        lab.loop.run(lab.app(scope, receive, send))
        assert [(one["type"], one.get("code")) for one in said] == [("websocket.close", 1008)]


def test_a_request_to_change_over_to_a_socket_stays_a_request(lab: Lab) -> None:
    headers = {"connection": "upgrade", "upgrade": "websocket", "sec-websocket-version": "13", "sec-websocket-key": "x"}
    assert lab.ask("GET", "/api/records", "rea", headers=headers).status_code == 200
    assert lab.ask("GET", "/api/records", headers=headers).status_code == 401
