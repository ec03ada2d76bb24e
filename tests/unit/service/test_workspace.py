"""The workspace: made where it is asked for, and the same records put twice leave one entry."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import pytest

from unfasten.evidence.errors import CallError, DataError
from unfasten.service.load import load_record
from unfasten.service.settings import example_records
from unfasten.service.workspace import LEDGER, open_workspace

NOW = datetime(2026, 4, 1, 9, 0, tzinfo=UTC)


@pytest.mark.parametrize("path", example_records(), ids=lambda path: path.stem)
def test_a_record_comes_back_from_the_ledger_as_it_was_read(path: Path, tmp_path: Path) -> None:
    record = load_record(path)
    with open_workspace(tmp_path / "new" / "ws", NOW) as workspace:
        assert workspace.put(record, NOW) is True
    with open_workspace(tmp_path / "new" / "ws", NOW) as workspace:
        held = workspace.record(record.product.id)
        assert held == record
        assert list(held.parts) == list(record.parts)
        assert workspace.put(held, NOW) is False
        assert len(workspace.store.entries(record.product.id)) == 1


def test_a_folder_name_with_odd_letters_is_a_folder(tmp_path: Path) -> None:
    folder = tmp_path / "what? #1 100%"
    with open_workspace(folder, NOW):
        pass
    assert (folder / LEDGER).is_file()


def test_a_folder_that_is_a_file_is_refused(tmp_path: Path) -> None:
    (tmp_path / "note").write_text("not a folder")
    with pytest.raises(CallError) as caught, open_workspace(tmp_path / "note" / "ws", NOW):
        pass
    assert caught.value.code == "workspace.folder"


def test_an_unknown_record_is_an_error(tmp_path: Path) -> None:
    with open_workspace(tmp_path, NOW) as workspace, pytest.raises(DataError) as caught:
        workspace.record("tarn-99")
    assert caught.value.code == "store.unknown-record"
