"""Each store in turn, for the suites that run over all of them."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest

from unfasten.store.contract import Store
from unfasten.store.memory import MemoryStore

NOW = datetime(2026, 4, 1, 9, 0, tzinfo=UTC)


@pytest.fixture(params=["memory", "sqlite", pytest.param("postgresql", marks=pytest.mark.postgres)])
def store(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Store]:
    """A store, empty."""
    opened: Store
    if request.param == "memory":
        opened = MemoryStore()
    else:
        from unfasten.store.database import open_database

        sqlite = f"sqlite:///{tmp_path / 'ledger.sqlite'}"
        url = request.getfixturevalue("postgres_url") if request.param == "postgresql" else sqlite
        opened = open_database(url, NOW)
    yield opened
    opened.close()
