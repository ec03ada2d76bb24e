"""No tracked file names a place on somebody's machine or a host that packages come from."""

from __future__ import annotations

import re
import subprocess
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
#: written in pieces, so that this file does not find itself
PLACES = re.compile(
    "|".join(
        [
            r"(?<![\w.])/" + "(?:home|Users|work|farm)" + r"/\w",
            r"pypi" + r"\.org",
            r"python" + r"hosted\.",
            r"registry\.npm" + r"js",
            r"deb" + r"ian\.org",
        ]
    )
)


def tracked() -> list[Path]:
    """Files under version control."""
    listed = subprocess.run(["git", "ls-files", "-z"], cwd=ROOT, capture_output=True, text=True, check=False)
    if listed.returncode:
        pytest.skip("not a git checkout, so nothing is tracked")
    return [path for name in listed.stdout.split("\0") if name and (path := ROOT / name).is_file()]


def test_no_machine_path_and_no_package_host() -> None:
    found = []
    for path in tracked():
        for number, line in enumerate(path.read_bytes().decode("utf-8", "ignore").splitlines(), 1):
            if PLACES.search(line):
                found.append(f"{path.relative_to(ROOT)}:{number}: {line.strip()[:100]}")
    assert found == []


def test_the_lock_that_names_hosts_is_not_tracked() -> None:
    assert "uv.lock" not in {path.name for path in tracked()}
