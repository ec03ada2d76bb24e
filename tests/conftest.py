"""Fixtures shared by all tests: what a test may need from the machine, and what happens where it is missing."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from importlib import import_module
from pathlib import Path
from pkgutil import walk_packages
from typing import Any
from uuid import uuid4

import pytest
from hypothesis import HealthCheck
from hypothesis import settings as trials

import unfasten

ROOT = Path(__file__).parent.parent
CHROMIUM_ARGS = [
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]

#: examples are drawn without a clock, for a machine may be busy; where the gate runs, they are the same in every run
trials.register_profile("home", deadline=None, suppress_health_check=[HealthCheck.too_slow])
trials.register_profile("gate", trials.get_profile("home"), derandomize=True, database=None, print_blob=True)
trials.load_profile("gate" if os.environ.get("CI") else "home")


def pytest_configure() -> None:
    """Load the whole program where examples are to be the same: among them are constants of what is loaded."""
    if os.environ.get("CI"):
        for module in walk_packages(unfasten.__path__, "unfasten."):
            if not module.name.endswith("__main__"):
                import_module(module.name)


def missing(what: str) -> None:
    """Skip where a thing is missing on a person's machine; fail where the gate runs, for there it must be."""
    if os.environ.get("CI"):
        pytest.fail(what)
    pytest.skip(what)


@pytest.hookimpl(trylast=True)
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Begin with what takes minutes, so that the others run beside it."""
    items.sort(key=lambda item: item.get_closest_marker("long") is None)


@pytest.fixture(scope="session")
def root() -> Path:
    """The checkout."""
    return ROOT


@pytest.fixture(scope="session")
def chromium() -> str:
    """Path of a Chromium."""
    names = ("chromium", "chromium-browser", "google-chrome", "chrome")
    found = os.environ.get("UNFASTEN_CHROMIUM") or next(filter(None, map(shutil.which, names)), None)
    if found is None:
        missing("no Chromium on the path: install it, or name one in UNFASTEN_CHROMIUM")
    return str(found)


@pytest.fixture(scope="session")
def browser(chromium: str) -> Iterator[Any]:
    """A headless Chromium driven by playwright."""
    from playwright.sync_api import sync_playwright

    with sync_playwright() as driver:
        running = driver.chromium.launch(executable_path=chromium, args=CHROMIUM_ARGS)
        yield running
        running.close()


@pytest.fixture
def postgres_url() -> Iterator[str]:
    """URL of a PostgreSQL schema of the test's own, dropped afterwards."""
    with postgres_schema() as url:
        yield url


@contextmanager
def postgres_schema() -> Iterator[str]:
    """Make a schema on the server that the tests were given, and drop it and its copies afterwards; give its URL."""
    base = os.environ.get("UNFASTEN_TEST_DB")
    if not base:
        missing("no PostgreSQL named: set UNFASTEN_TEST_DB to an URL such as postgresql+psycopg://root@127.0.0.1/test")
    import sqlalchemy as sa

    schema = f"unfasten_{uuid4().hex}"
    engine = sa.create_engine(str(base))
    with engine.begin() as tx:
        tx.exec_driver_sql(f"create schema {schema}")
    url = sa.make_url(str(base)).update_query_dict({"options": f"-csearch_path={schema}"})
    yield url.render_as_string(hide_password=False)
    with engine.begin() as tx:
        about = f"unfasten: {schema} as it was before step %"
        mine = sa.text("select nspname from pg_namespace where obj_description(oid, 'pg_namespace') like :about")
        copies = tx.scalars(mine, {"about": about}).all()
        for name in (schema, *copies):
            tx.exec_driver_sql(f"drop schema if exists {name} cascade")
    engine.dispose()


@pytest.fixture
def server(tmp_path: Path) -> Iterator[Any]:
    """A served bench on an empty workspace."""
    from support.serving import Serving

    running = Serving(tmp_path).start()
    running.wait()
    yield running
    running.close()


@pytest.fixture
def slab(server: Any) -> Any:
    """A served bench with a record that has only its frame."""
    from support.serving import NEW

    server.post("/api/records", NEW)
    return server
