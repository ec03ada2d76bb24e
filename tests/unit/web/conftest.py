"""A lab's server, made once for the tests of a file."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from tests.support.web import Lab, running, settings


@pytest.fixture(scope="module")
def lab(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Lab]:
    """A lab with a reader, a recorder and a publisher signed in."""
    with running(settings(tmp_path_factory.mktemp("lab"), most_bytes=400_000)) as made:
        yield made


@pytest.fixture(params=["sqlite", pytest.param("postgresql", marks=pytest.mark.postgres)])
def ledger_in(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> str:
    """Have the ledger in a file of the workspace, or in a PostgreSQL database as a lab has it."""
    if request.param == "postgresql":
        monkeypatch.setenv("UNFASTEN_DB", request.getfixturevalue("postgres_url"))
    return str(request.param)
