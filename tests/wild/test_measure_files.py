"""Files that are no photographs, handed to the command that measures: each gets its own clear word and status 1."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest
from tests.support.mat_photo import jpeg_of, mat_photo

WRONG = {
    "empty": (b"", "photo.empty"),
    "half": (None, "photo.truncated"),
    "words": (b"no picture at all, only words\n" * 9, "photo.not-a-picture"),
}


@pytest.mark.parametrize("name", WRONG)
def test_no_photograph(name: str, tmp_path: Path) -> None:
    data, code = WRONG[name]
    path = tmp_path / "bench.jpg"
    whole = jpeg_of(mat_photo()[0])
    path.write_bytes(whole[: len(whole) // 2] if data is None else data)
    done = subprocess.run(
        [sys.executable, "-m", "unfasten", "measure", str(path), "--kind", "parts"],
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 1
    assert code in done.stderr
    assert "Traceback" not in done.stderr
