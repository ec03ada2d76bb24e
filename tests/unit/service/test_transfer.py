"""Records into a workspace and out of it: what is added, what is not, and what a recovery brings."""

from __future__ import annotations

import json
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any
from uuid import UUID, uuid4

import pytest

from support.raw_zip import PHOTO, SHA256, RawFile, RawZip, archive, good_files, raw_files
from unfasten.archive.layout import ArchiveInvalid
from unfasten.evidence.errors import CallError, DataError
from unfasten.service.load import RecordInvalid
from unfasten.service.transfer import Imported, export_file, import_file, is_archive
from unfasten.service.workspace import Workspace, open_workspace
from unfasten.store.entry import draft_of

NOW = datetime(2026, 4, 1, 9, 0, tzinfo=UTC)
OWN = UUID(int=7 << 100)


@pytest.fixture
def home(tmp_path: Path) -> Iterator[Workspace]:
    """An empty workspace."""
    with open_workspace(tmp_path / "home", NOW) as opened:
        yield opened


def take(workspace: Workspace, data: bytes, **how: Any) -> Imported:
    """Import an archive from its bytes."""
    path = workspace.folder.parent / "lamp.zip"
    path.write_bytes(data)
    return import_file(workspace, path, NOW, OWN, "ada", **how)


def note(workspace: Workspace, text: str) -> None:
    """Add an entry to the lamp."""
    body = {"entry": {"do": "note", "text": text}}
    workspace.store.append(draft_of("lamp", "log", body, entry=uuid4(), at=NOW))


def test_an_archive_brings_entries_and_photos(home: Workspace) -> None:
    done = take(home, archive())
    assert (done.record, done.entries, done.photos, done.findings) == ("lamp", 2, 1, ())
    assert home.photos.get(SHA256) == PHOTO
    assert home.store.photos.get(SHA256).name == "1.jpg"
    assert [entry.by for entry in home.store.entries("lamp")] == ["ada", "ada"]


def test_only_what_follows_is_added(home: Workspace, tmp_path: Path) -> None:
    take(home, archive())
    early = tmp_path / "early.zip"
    export_file(home, "lamp", early, NOW)
    note(home, "one")
    late = tmp_path / "late.zip"
    export_file(home, "lamp", late, NOW)
    with open_workspace(tmp_path / "away", NOW) as away:
        import_file(away, early, NOW, OWN)
        assert import_file(away, late, NOW, OWN).entries == 1
        assert import_file(away, early, NOW, OWN).entries == 0
        assert away.store.entries("lamp") == home.store.entries("lamp")


def test_ledgers_that_went_apart_are_not_mixed(home: Workspace, tmp_path: Path) -> None:
    take(home, archive())
    with open_workspace(tmp_path / "away", NOW) as away:
        take(away, archive())
        note(home, "one")
        note(away, "other")
        path = tmp_path / "other.zip"
        export_file(away, "lamp", path, NOW)
    before = home.store.entries("lamp")
    with pytest.raises(DataError) as caught:
        import_file(home, path, NOW, OWN)
    assert caught.value.code == "transfer.diverged"
    assert "entry 3" in str(caught.value)
    assert home.store.entries("lamp") == before


def test_a_lost_photo_comes_back_from_an_archive(home: Workspace) -> None:
    take(home, archive())
    home.photos.path(SHA256).unlink()
    assert take(home, archive()).photos == 1
    assert home.photos.get(SHA256) == PHOTO


def test_a_photo_that_is_not_there_is_named_and_the_rest_goes_out(home: Workspace, tmp_path: Path) -> None:
    take(home, archive())
    home.photos.path(SHA256).unlink()
    done = export_file(home, "lamp", tmp_path / "out.zip", NOW)
    assert (done.photos, done.absent) == (0, (SHA256,))
    with open_workspace(tmp_path / "away", NOW) as away:
        assert import_file(away, tmp_path / "out.zip", NOW, OWN).entries == 2


def test_a_damaged_photo_stops_an_export_and_leaves_no_file(home: Workspace, tmp_path: Path) -> None:
    take(home, archive())
    home.photos.path(SHA256).write_bytes(b"other")
    before = sorted(tmp_path.iterdir())
    with pytest.raises(DataError) as caught:
        export_file(home, "lamp", tmp_path / "out.zip", NOW)
    assert caught.value.code == "store.damaged-photo"
    assert sorted(tmp_path.iterdir()) == before


def test_recovery_brings_the_record_from_its_text_as_an_entry_of_its_own(home: Workspace) -> None:
    files = good_files()
    raw = raw_files(files)
    raw[1] = RawFile("ledger.jsonl", files["ledger.jsonl"].split(b"\n")[0] + b"\n")
    data = RawZip(raw).to_bytes()
    with pytest.raises(ArchiveInvalid):
        take(home, data)
    done = take(home, data, recover=True)
    assert done.entries == 2
    first, second = home.store.entries("lamp")
    assert (first.kind, second.kind, second.id, second.by) == ("put-record", "put-record", str(OWN), "ada")
    assert home.store.record("lamp") == json.loads(files["record.json"])
    assert "archive.ledger" in {finding.code for finding in done.findings}


def test_recovery_does_not_take_the_record_back_behind_what_is_held(home: Workspace) -> None:
    take(home, archive())
    note(home, "one")
    before = home.store.entries("lamp")
    files = good_files()
    raw = raw_files(files)
    raw[1] = RawFile("ledger.jsonl", files["ledger.jsonl"].split(b"\n")[0] + b"\n")
    done = take(home, RawZip(raw).to_bytes(), recover=True)
    assert home.store.entries("lamp") == before
    assert (done.entries, done.findings[-1].code) == (0, "transfer.later-held")


def test_recovery_keeps_a_photo_of_which_nothing_is_known(home: Workspace) -> None:
    raw = [one for one in raw_files() if one.name != "photos.json"]
    done = take(home, RawZip(raw).to_bytes(), recover=True)
    assert done.photos == 1
    held = home.store.photos.get(SHA256)
    assert (held.media_type, held.width, held.taken, held.size) == ("image/jpeg", None, None, len(PHOTO))
    assert any(SHA256[:40] in finding.at for finding in done.findings)


def test_a_draft_goes_out_as_it_is(home: Workspace, tmp_path: Path) -> None:
    product = {"id": "lamp", "name": "Lamp", "maker": "Fellwright", "category": "other"}
    home.store.put_record({"product": product, "joints": {"clips": {"kind": "clip"}}}, entry=uuid4(), at=NOW)
    done = export_file(home, "lamp", tmp_path / "lamp.yaml", NOW)
    assert not done.is_archive
    assert "kind: clip" in (tmp_path / "lamp.yaml").read_text("utf-8")
    with pytest.raises(RecordInvalid):
        import_file(home, tmp_path / "lamp.yaml", NOW, OWN)


@pytest.mark.parametrize(
    ("name", "data", "wanted"), [("a.zip", b"", True), ("a.yaml", b"PK\3\4", True), ("b", b"x", False)]
)
def test_an_archive_is_known_by_name_or_first_bytes(name: str, data: bytes, wanted: bool, tmp_path: Path) -> None:
    (tmp_path / name).write_bytes(data)
    assert is_archive(tmp_path / name) is wanted


def test_a_folder_that_is_not_there_is_a_wrong_call(home: Workspace, tmp_path: Path) -> None:
    take(home, archive())
    with pytest.raises(CallError) as caught:
        export_file(home, "lamp", tmp_path / "none" / "out.zip", NOW)
    assert caught.value.code == "transfer.cannot-write"
