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
