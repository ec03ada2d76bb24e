"""The command `report`, as a person runs it."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

BARE = """
format: unfasten-record/1
product: {id: box, name: Box, maker: Fellwright, category: slate-tablet}
parts:
  frame: {name: Frame, stays: true}
  lid: {name: Lid}
joints:
  screw: {kind: screw, holds: [lid, frame], ways: [{}]}
"""


def run(*words: object) -> subprocess.CompletedProcess[str]:
    call = [sys.executable, "-c", "from unfasten.cli.main import main; main()", *map(str, words)]
    return subprocess.run(call, capture_output=True, text=True, check=False)


def test_writes_both_files_and_says_where(tmp_path: Path) -> None:
    (tmp_path / "box.yaml").write_text(BARE, "utf-8")
    out = tmp_path / "out"
    done = run("report", tmp_path / "box.yaml", "-o", out, "--on", "2026-03-09")
    assert done.returncode == 0, done.stderr
    assert done.stdout.splitlines() == [str(out / "box.html"), str(out / "box.pdf")]
    assert sorted(path.name for path in out.iterdir()) == ["box.html", "box.pdf"]


def test_a_record_with_errors_leaves_nothing_behind(tmp_path: Path) -> None:
    (tmp_path / "bad.yaml").write_text(BARE.replace("holds: [lid, frame]", "holds: [lid, fram]"), "utf-8")
    done = run("report", tmp_path / "bad.yaml", "-o", tmp_path / "out")
    assert done.returncode == 1
    assert "joints.screw.holds[1]" in done.stderr
    assert not (tmp_path / "out").exists()


def test_a_wrong_call_is_status_2(tmp_path: Path) -> None:
    (tmp_path / "box.yaml").write_text(BARE, "utf-8")
    assert run("report", tmp_path / "box.yaml").returncode == 2
    assert run("report", tmp_path / "box.yaml", "-o", tmp_path / "box.yaml").returncode == 2
    assert run("report", tmp_path / "none.yaml", "-o", tmp_path / "out").returncode == 2
