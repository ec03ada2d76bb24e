"""Archives that do harm, sent through the page: each is refused with all that is wrong, and nothing is taken in."""

from __future__ import annotations

from collections.abc import Iterator
from tempfile import gettempdir

import pytest
from tests.support.web import RECORD, Lab, is_error, photo, running, settings
from tests.wild.test_hostile_archives import WRONG

INSIDE = (gettempdir(), "Traceback", ".py")


@pytest.fixture(scope="module")
def lab(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Lab]:
    """A lab with a publisher."""
    with running(settings(tmp_path_factory.mktemp("archives"))) as made:
        yield made


def files(lab: Lab) -> set[str]:
    """Files of the workspace that hold photos or what came with an archive."""
    folder = lab.app.state.settings.folder
    return {str(path.relative_to(folder)) for path in folder.rglob("*") if "ledger" not in path.name}


@pytest.mark.parametrize("what", WRONG)
def test_it_is_refused_and_leaves_nothing(lab: Lab, what: str) -> None:
    make, code = WRONG[what]
    before = files(lab), lab.ask("GET", "/api/records", "pia").json()
    answer = lab.ask("POST", "/api/import", "pia", files={"file": ("a.zip", make(), "application/zip")})
    assert answer.status_code == 422
    assert is_error(answer.json())
    codes = {answer.json()["code"], *(one["code"] for one in answer.json().get("findings", ()))}
    assert code in codes
    assert [word for word in INSIDE if word in answer.text] == []
    assert (files(lab), lab.ask("GET", "/api/records", "pia").json()) == before


def test_what_was_taken_out_can_be_brought_back(lab: Lab) -> None:
    sent = lab.ask("POST", f"/api/records/{RECORD}/photos", "cora", files=photo())
    assert sent.status_code == 201
    whole = lab.ask("GET", f"/api/records/{RECORD}/file.zip", "rea")
    assert whole.headers["content-disposition"] == f'attachment; filename="{RECORD}.zip"'
    assert whole.headers["content-type"] == "application/zip"
    with_it = {"file": ("a.zip", whole.content, "application/zip")}
    assert lab.ask("POST", "/api/import", "pia", files=with_it).json() == {"record": RECORD, "entries": 0, "photos": 0}
