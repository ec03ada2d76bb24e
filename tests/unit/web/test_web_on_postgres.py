"""The web room on a lab's PostgreSQL: every operation once, two servers on one database, and a connection that is cut.

Signing in, two accounts at once and the stream run on both databases in their own files.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
import sqlalchemy as sa
from tests.conftest import postgres_schema
from tests.support.web import RECORD, Lab, Loop, lines, running, settings
from tests.support.web_table import ROWS, method, path

from unfasten.web.app import make_app

pytestmark = pytest.mark.postgres
ROOM = f"/api/records/{RECORD}"


@pytest.fixture(scope="module")
def lab(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Lab]:
    """A lab whose ledger is in PostgreSQL."""
    with postgres_schema() as url, pytest.MonkeyPatch.context() as patch:
        patch.setenv("UNFASTEN_DB", url)
        folder = tmp_path_factory.mktemp("lab")
        with running(settings(folder)) as made:
            made.example = url
            yield made
        assert not list(folder.rglob("*.sqlite*"))


@pytest.mark.parametrize("name", sorted(ROWS))
def test_every_operation_is_answered(lab: Lab, name: str) -> None:
    row = ROWS[name]
    if row.is_stream:
        heard = lab.stream(row.path, row.who)
        assert (heard.status, heard.headers["content-type"]) == (row.status, row.media)
        return
    answer = lab.ask(method(name), path(lab, name), row.who, **row.how(lab))
    assert (answer.status_code, answer.headers.get("content-type", "")) == (row.status, row.media)
    if name == "POST /api/sign-out" and row.who:
        lab.enter(row.who)


@contextmanager
def another_server(folder: Path, lab: Lab) -> Iterator[Lab]:
    """A second server on the same database, to which the first one's cookies are good."""
    other = Lab(make_app(settings(folder)), Loop(), lab.people)
    life = other.app.router.lifespan_context(other.app)
    other.loop.run(life.__aenter__())
    try:
        yield other
    finally:
        other.loop.run(life.__aexit__(None, None, None))
        other.loop.close()


def test_a_page_of_one_server_hears_what_is_entered_at_another(lab: Lab, tmp_path: Path) -> None:
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("UNFASTEN_DB", lab.example)
        with another_server(tmp_path, lab) as other:

            def enter() -> None:
                other.ask("POST", f"{ROOM}/lines", "pia", json=lines("note from the second bench"))

            heard = lab.stream(f"{ROOM}/live", "rea", until="note from the second bench", then=enter)
    assert any(message.startswith("event: rows") and "second bench" in message for message in heard.messages[1:])


def test_connections_that_are_cut_cost_no_entry(lab: Lab) -> None:
    cutter = sa.create_engine(lab.example)
    entered = [f"note after {number} cuts" for number in range(4)]
    for text in entered:
        answer = lab.ask("POST", f"{ROOM}/lines", "cora", json=lines(text))
        assert (answer.status_code, [one["ok"] for one in answer.json()["kept"]]) == (200, [True])
        with lab.app.state.workspace.store._engine.connect() as held:
            process = held.exec_driver_sql("select pg_backend_pid()").scalar()
        with cutter.begin() as tx:
            assert tx.execute(sa.text("select pg_terminate_backend(:one)"), {"one": process}).scalar() is True
    cutter.dispose()
    rows = lab.ask("GET", f"{ROOM}/ledger", "rea").json()["rows"]
    assert [row["text"] for row in rows if row["text"].startswith("note after")] == entered
