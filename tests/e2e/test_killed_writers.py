"""Nothing that was acknowledged is lost when writers are killed: three hundred times, counted."""

from __future__ import annotations

import json
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

from support.patience import PATIENCE_S

KILLS = 300
SCRIPT = Path(__file__).parents[1] / "support" / "kill_writers.py"


def killed(folder: Path, kills: int, *more: str) -> dict[str, Any]:
    """Kill writers and count."""
    command = [sys.executable, str(SCRIPT), str(folder), str(kills), *more]
    done = subprocess.run(command, capture_output=True, text=True, timeout=PATIENCE_S, check=False)
    assert done.returncode == 0, done.stderr
    counted: dict[str, Any] = json.loads(done.stdout)
    return counted


def test_every_acknowledged_entry_survives_three_hundred_kills(tmp_path: Path) -> None:
    folders = [tmp_path / name for name in ("one", "two")]
    for folder in folders:
        folder.mkdir()
    with ThreadPoolExecutor(len(folders)) as pool:
        both = list(pool.map(lambda folder: killed(folder, KILLS // len(folders)), folders))
    assert sum(counted["kills"] for counted in both) >= KILLS
    assert sum(counted["acknowledged"] for counted in both) >= KILLS
    for counted in both:
        assert counted["silent"] < KILLS / 4, "most were killed while they wrote, not while they started"
        wrong = {key: counted[key] for key in ("lost", "lost_photos", "torn", "gaps", "stray")}
        assert wrong == dict.fromkeys(wrong, 0)
        assert counted["in_the_record"] is True
        assert counted["integrity"] == "ok"


def test_the_count_finds_what_was_acknowledged_too_early(tmp_path: Path) -> None:
    counted = killed(tmp_path, 60, "early")
    assert counted["lost"] > 0
    assert counted["torn"] == 0
    assert counted["integrity"] == "ok"
