"""What docs/identify.md shows can be typed, and its files are read."""

from __future__ import annotations

import re
import shlex
from pathlib import Path

import pytest
from click.testing import CliRunner

from unfasten.cli.main import cli
from unfasten.service.boarduse import use_of_board
from unfasten.service.identify import read_parts

PAGE = (Path(__file__).parents[3] / "docs" / "identify.md").read_text("utf-8")
LINES = [line.strip() for line in PAGE.splitlines() if line.startswith("    unfasten identify ")]
WITHOUT_FILES = [line for line in LINES if not re.search(r"PHOTO|OUTLINES|LIST|PICKS", line)]


def block(start: str) -> str:
    """The indented block of the page that begins with a line."""
    lines = PAGE[PAGE.index(f"    {start}\n") :].splitlines()
    ends = next(number for number, line in enumerate(lines) if line and not line.startswith("    "))
    return "\n".join(line[4:] for line in lines[:ends])


@pytest.mark.parametrize("line", WITHOUT_FILES)
def test_a_line_of_the_page_runs(line: str) -> None:
    done = CliRunner().invoke(cli, shlex.split(line)[1:])
    assert done.exit_code == 0, done.output
    assert "none\n" not in done.output


def test_most_lines_were_run() -> None:
    assert (len(WITHOUT_FILES), len(LINES)) == (6, 10)


def test_files_of_the_page_are_read(tmp_path: Path) -> None:
    board, parts = tmp_path / "board.yaml", tmp_path / "parts.yaml"
    board.write_text(block("format: unfasten-board/1"), encoding="utf-8")
    parts.write_text(block("format: unfasten-markings/1"), encoding="utf-8")
    assert [side.bodies for side in use_of_board(board).sides] == [48, 0]
    assert [part.id for part in read_parts(parts)] == ["flash-128"]
