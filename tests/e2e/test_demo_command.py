"""The demo as a newcomer runs it: tables, index, reports; safe to run again; clear where it cannot work."""

from __future__ import annotations

import os
import sqlite3
import subprocess
import sys
from collections.abc import Sequence
from contextlib import closing
from pathlib import Path

import pytest

CALL = "from unfasten.cli.main import main; main()"
RECORDS = ("tarn-9", "tarn-11", "tarn-11-plus")


def run(arguments: Sequence[str], folder: Path) -> subprocess.CompletedProcess[str]:
    """Run the command line in a folder, on a plain stream 80 columns wide."""
    env = {key: value for key, value in os.environ.items() if key not in ("COLUMNS", "FORCE_COLOR")}
    return subprocess.run(
        [sys.executable, "-c", CALL, *arguments], cwd=folder, env=env, capture_output=True, text=True, check=False
    )


@pytest.fixture(scope="module")
def done(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, subprocess.CompletedProcess[str]]:
    """The demo, run once in an empty folder."""
    folder = tmp_path_factory.mktemp("demo")
    return folder, run(["demo", "--on", "2026-04-01"], folder)


def test_it_succeeds_and_shows_every_record(done: tuple[Path, subprocess.CompletedProcess[str]]) -> None:
    _, result = done
    assert result.returncode == 0, result.stderr
    assert [
        name for name in ("Tarn 9", "Tarn 11", "Tarn 11 Plus") if f"\n{name}  Fellwright" not in result.stdout
    ] == []
    assert result.stdout.count(", class ") == len(RECORDS)
    assert max(len(line) for line in result.stdout.splitlines()) <= 80
    assert "\x1b" not in result.stdout


def test_progress_is_told_on_stderr_from_first_to_last(done: tuple[Path, subprocess.CompletedProcess[str]]) -> None:
    lines = done[1].stderr.splitlines()
    assert [line.split()[0] for line in lines] == [f"[{n}/{len(lines)}]" for n in range(1, len(lines) + 1)]


def test_reports_lie_where_it_says(done: tuple[Path, subprocess.CompletedProcess[str]]) -> None:
    folder, result = done
    for record in RECORDS:
        for kind, start in (("html", b"<!doctype html>"), ("pdf", b"%PDF-")):
            named = f"workspace/reports/{record}.{kind}"
            assert named in result.stdout
            assert (folder / named).read_bytes()[: len(start)].lower() == start.lower()
    assert not [path for path in (folder / "workspace" / "reports").iterdir() if path.suffix not in (".html", ".pdf")]


def test_a_second_run_adds_nothing_and_says_the_same(done: tuple[Path, subprocess.CompletedProcess[str]]) -> None:
    folder, first = done
    again = run(["demo", "--on", "2026-04-01"], folder)
    assert again.stdout == first.stdout
    with closing(sqlite3.connect(folder / "workspace" / "ledger.sqlite")) as ledger:
        assert ledger.execute("select record, count(*) from entry group by record order by record").fetchall() == [
            (record, 1) for record in sorted(RECORDS)
        ]


def test_a_folder_that_is_a_file_is_a_wrong_call(tmp_path: Path) -> None:
    (tmp_path / "note").write_text("not a folder")
    result = run(["demo", "-o", "note"], tmp_path)
    assert result.returncode == 2
    assert "note" in result.stderr
    assert (tmp_path / "note").read_text() == "not a folder"


def test_a_broken_ledger_is_told_with_its_place_and_left_alone(tmp_path: Path) -> None:
    ledger = tmp_path / "ws" / "ledger.sqlite"
    ledger.parent.mkdir()
    ledger.write_text("this is no database\n" * 99)
    result = run(["demo", "-o", "ws"], tmp_path)
    assert result.returncode == 1
    assert "store.unusable" in result.stderr
    assert "ledger.sqlite" in result.stderr
    assert "Traceback" not in result.stderr
    assert ledger.read_text().startswith("this is no database")
