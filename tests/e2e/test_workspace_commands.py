"""`unfasten import`, `export`, `history` and `account` by subprocess: a record moves between workspaces whole."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import zipfile
from datetime import UTC, datetime
from pathlib import Path

import pytest

from support.patience import PATIENCE_S
from unfasten.service.load import load_record
from unfasten.service.workspace import open_workspace

NOW = datetime(2026, 4, 1, 9, 0, tzinfo=UTC)

GOOD = """\
format: unfasten-record/1
product: {id: tarn-9, name: Tarn 9, maker: Fellwright, category: other}
parts: {frame: {name: Midframe, stays: true}, cover: {name: Cover}}
joints:
  back-clips: {kind: clip, holds: [cover, frame], reuse: reusable, ways: [{}]}
"""


def unfasten(*arguments: str, stdin: str = "", **environment: str) -> subprocess.CompletedProcess[str]:
    """Run a command with something on stdin."""
    command = [sys.executable, "-c", "from unfasten.cli.main import main; main()", *arguments]
    return subprocess.run(
        command,
        capture_output=True,
        text=True,
        encoding="utf-8",
        timeout=PATIENCE_S,
        check=False,
        input=stdin,
        env={**os.environ, **environment},
    )


@pytest.fixture
def record(tmp_path: Path) -> Path:
    """A small record file."""
    path = tmp_path / "tarn-9.yaml"
    path.write_text(GOOD, encoding="utf-8")
    return path


@pytest.fixture
def home(tmp_path: Path, record: Path) -> str:
    """A workspace with two states of the record."""
    folder = tmp_path / "home"
    with open_workspace(folder, NOW) as workspace:
        workspace.put(load_record(record), NOW, "ada")
        record.write_text(GOOD.replace("name: Cover", "name: Back cover"), encoding="utf-8")
        workspace.put(load_record(record), NOW, "bo")
    return str(folder)


def test_a_record_file_is_taken_once(tmp_path: Path, record: Path) -> None:
    folder = str(tmp_path / "ws")
    done = unfasten("import", str(record), "-w", folder, "--by", "ada")
    assert (done.returncode, done.stdout) == (0, "tarn-9: 1 entry and 0 photos added\n")
    assert unfasten("import", str(record), "-w", folder).stdout == "tarn-9: held already\n"


def test_an_archive_carries_the_whole_history(tmp_path: Path, home: str) -> None:
    path, away = tmp_path / "tarn-9.zip", str(tmp_path / "away")
    done = unfasten("export", "tarn-9", "-o", str(path), "-w", home)
    assert done.stdout == f"{path}: tarn-9, ledger of 2 entries and 0 photos\n"
    assert unfasten("import", str(path), "-w", away).stdout == "tarn-9: 2 entries and 0 photos added\n"
    assert unfasten("import", str(path), "-w", away).stdout == "tarn-9: held already\n"
    listed = [json.loads(unfasten("history", "tarn-9", "-w", folder, "--json").stdout) for folder in (home, away)]
    assert listed[0] == listed[1]
    assert [(entry["seq"], entry["by"]) for entry in listed[0]["entries"]] == [(1, "ada"), (2, "bo")]


def test_history_shows_the_past(home: str) -> None:
    done = unfasten("history", "tarn-9", "-w", home)
    assert [line.split()[:1] for line in done.stdout.splitlines()] == [["1"], ["2"]]
    assert "whole record: 2 parts, 1 joints" in done.stdout
    assert "name: Cover" in unfasten("history", "tarn-9", "--at", "1", "-w", home).stdout
    assert "Back cover" in unfasten("history", "tarn-9", "--at", "2", "-w", home).stdout
    done = unfasten("history", "tarn-9", "--at", "3", "-w", home)
    assert (done.returncode, done.stdout) == (2, "")
    assert "[history.no-entry]" in done.stderr


def test_the_present_state_goes_out_as_yaml_and_comes_back(tmp_path: Path, home: str) -> None:
    path = tmp_path / "out.yaml"
    done = unfasten("export", "tarn-9", "-o", str(path), "-w", home)
    assert done.stdout == f"{path}: tarn-9, present state\n"
    assert unfasten("check", str(path)).returncode == 0
    assert "Back cover" in path.read_text("utf-8")
    assert unfasten("import", str(path), "-w", str(tmp_path / "away")).returncode == 0


def test_a_file_is_not_written_over_unless_asked(tmp_path: Path, home: str) -> None:
    path = tmp_path / "out.yaml"
    path.write_text("mine", encoding="utf-8")
    done = unfasten("export", "tarn-9", "-o", str(path), "-w", home)
    assert done.returncode == 2
    assert "[transfer.exists]" in done.stderr
    assert path.read_text("utf-8") == "mine"
    assert unfasten("export", "tarn-9", "-o", str(path), "-w", home, "--overwrite").returncode == 0
    assert path.read_text("utf-8").startswith("format: unfasten-record/1")
    assert [one.name for one in tmp_path.iterdir() if one.name.endswith(".part")] == []


def test_workspaces_that_went_apart_are_not_mixed(tmp_path: Path, home: str, record: Path) -> None:
    path, away = tmp_path / "tarn-9.zip", str(tmp_path / "away")
    with open_workspace(Path(away), NOW) as workspace:
        workspace.put(load_record(record), NOW)
    unfasten("export", "tarn-9", "-o", str(path), "-w", home)
    done = unfasten("import", str(path), "-w", away)
    assert done.returncode == 1
    assert "[transfer.diverged]" in done.stderr
    assert len(json.loads(unfasten("history", "tarn-9", "-w", away, "--json").stdout)["entries"]) == 1


def test_a_damaged_archive_is_refused_and_can_be_recovered(tmp_path: Path, home: str) -> None:
    path, away = tmp_path / "tarn-9.zip", str(tmp_path / "away")
    unfasten("export", "tarn-9", "-o", str(path), "-w", home)
    with zipfile.ZipFile(path, "a") as archive:
        archive.writestr("../../evil.sh", "harm")
    done = unfasten("import", str(path), "-w", away)
    assert (done.returncode, done.stdout) == (1, "")
    assert "[archive.outside]" in done.stderr
    assert "[archive.invalid]" in done.stderr
    assert "Traceback" not in done.stderr
    done = unfasten("import", str(path), "-w", away, "--recover")
    assert (done.returncode, done.stdout) == (0, "tarn-9: 2 entries and 0 photos added\n")
    assert "warning" in done.stderr
    assert list(tmp_path.rglob("evil*")) == []


@pytest.mark.parametrize(
    ("name", "text", "status", "code"),
    [
        ("wrong.yaml", GOOD.replace("kind: clip", "kind: nail"), 1, "record.bad-value"),
        ("wrong.zip", "no zip", 1, "archive.not-zip"),
        ("missing.yaml", None, 2, "data.missing-file"),
    ],
)
def test_a_file_that_cannot_be_taken_changes_nothing(
    name: str, text: str | None, status: int, code: str, tmp_path: Path
) -> None:
    if text is not None:
        (tmp_path / name).write_text(text, encoding="utf-8")
    done = unfasten("import", str(tmp_path / name), "-w", str(tmp_path / "ws"))
    assert (done.returncode, done.stdout) == (status, "")
    assert f"[{code}]" in done.stderr
    assert unfasten("history", "tarn-9", "-w", str(tmp_path / "ws")).returncode == 1


def test_only_archives_are_recovered(tmp_path: Path, record: Path) -> None:
    done = unfasten("import", str(record), "--recover", "-w", str(tmp_path / "ws"))
    assert done.returncode == 2
    assert "[transfer.no-archive]" in done.stderr


def test_accounts_are_made_listed_and_disabled(tmp_path: Path) -> None:
    folder = ("-w", str(tmp_path / "ws"))
    for name, role in (("ada", "publisher"), ("bo", "recorder")):
        done = unfasten("account", "add", name, "--role", role, *folder, stdin="stiff clips at the hinge\n")
        assert (done.returncode, done.stdout) == (0, f"{name}: {role}\n")
    done = unfasten("account", "disable", "bo", *folder)
    assert done.stdout == "bo: disabled\n"
    listed = unfasten("account", "list", *folder).stdout.splitlines()
    assert [line.split()[:3] for line in listed] == [["ada", "publisher", "since"], ["bo", "recorder", "disabled"]]
    assert b"stiff clips" not in b"".join(path.read_bytes() for path in (tmp_path / "ws").iterdir())


def test_a_password_is_never_an_argument(tmp_path: Path) -> None:
    done = unfasten("account", "add", "--help")
    assert "password" in done.stdout
    assert "--password" not in done.stdout
    done = unfasten("account", "add", "ada", "--role", "boss", "-w", str(tmp_path / "ws"), stdin="short\n")
    assert done.returncode == 2
    assert "at least 12" in done.stderr
    assert "no role" in done.stderr
    assert "short" not in done.stderr


def test_another_database_than_those_known_is_a_wrong_call(tmp_path: Path) -> None:
    done = unfasten("history", "tarn-9", "-w", str(tmp_path / "ws"), UNFASTEN_DB="mysql://ada:secret@h/lab")
    assert done.returncode == 2
    assert "[store.bad-url]" in done.stderr
    assert "secret" not in done.stderr
