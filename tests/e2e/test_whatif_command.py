"""`unfasten whatif` by subprocess: status, streams, JSON, and the file untouched."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from support.patience import PATIENCE_S

RECORD = """\
format: unfasten-record/1
product: {id: tarn-9, name: Tarn 9, maker: Fellwright, category: slate-tablet}
tools: {hex-3: {name: Hexalobular driver 3, class: basic}, pad: {name: Heating pad, class: commercial}}
parts:
  frame: {name: Midframe, stays: true}
  cover: {name: Cover, role: back-cover}
  cell: {name: Battery, role: battery}
joints:
  back-screws: {kind: screw, holds: [cover, frame], reuse: reusable, ways: [{tools: [hex-3], time: 5 s}]}
  cell-strip:
    kind: adhesive
    holds: [cell, frame]
    reuse: removable
    ways: [{under: [cover], prepare: [{do: heat, tools: [pad], time: 30 s}]}]
"""


def unfasten(*arguments: str) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-c", "from unfasten.cli.main import main; main()", "whatif", *arguments]
    return subprocess.run(command, capture_output=True, text=True, encoding="utf-8", timeout=PATIENCE_S, check=False)


def answer(*arguments: str) -> dict[str, Any]:
    done = unfasten(*arguments, "--on", "2026-06-01", "--json")
    assert (done.returncode, done.stderr) == (0, "")
    found: dict[str, Any] = json.loads(done.stdout)
    return found


@pytest.fixture
def record(tmp_path: Path) -> Path:
    path = tmp_path / "tarn-9.yaml"
    path.write_text(RECORD, encoding="utf-8")
    return path


def test_changes_before_and_after(record: Path) -> None:
    found = answer(str(record), "joints.cell-strip.reuse=reusable", "supply.updates.years=7")
    assert found["changes"] == ["joints.cell-strip.reuse=reusable", "supply.updates.years=7"]
    assert found["before"]["scores"]["S_SU"] == {"low": "1.00", "high": "5.00"}
    assert found["after"]["scores"]["S_SU"] == {"low": "5.00", "high": "5.00"}
    assert [effect["score"] for effect in found["effects"]] == ["S_F", "S_SU"]
    assert record.read_text(encoding="utf-8") == RECORD


def test_before_is_what_the_index_says(record: Path) -> None:
    command = [sys.executable, "-c", "from unfasten.cli.main import main; main()", "index", str(record)]
    done = subprocess.run([*command, "--on", "2026-06-01", "--json"], capture_output=True, text=True, check=True)
    index = json.loads(done.stdout)
    before = answer(str(record), "tools.pad.class=basic")["before"]
    assert {key: before[key] for key in ("index", "class", "scores")} == {
        key: index[key] for key in ("index", "class", "scores")
    }


def test_the_table(record: Path) -> None:
    done = unfasten(str(record), "joints.cell-strip.ways[0].prepare=none", "--on", "2026-06-01")
    assert done.returncode == 0
    lines = done.stdout.splitlines()
    assert lines[0] == "what if  joints.cell-strip.ways[0].prepare=none"
    assert any(line.split() == ["cell", "steps", "3", "2", "*"] for line in lines)
    assert any("S_T of battery" in line and "pad (commercial)" in line for line in lines)


def test_the_best(record: Path) -> None:
    found = answer(str(record), "--best", "--limit", "3")
    assert found["for"] == "index"
    assert len(found["best"]) == 3
    lows = [float(gain["gain"]["low"]) for gain in found["best"]]
    assert lows == sorted(lows, reverse=True)
    assert found["best"][0]["reasons"]
    assert found["pairs"] == []
    done = unfasten(str(record), "--best", "--for", "cell", "--pairs", "--limit", "1")
    assert done.returncode == 0
    assert "cell: 3 -> 2 steps" in done.stdout


def test_wrong_calls_end_with_status_2(record: Path) -> None:
    assert unfasten(str(record)).returncode == 2
    assert unfasten(str(record), "tools.pad.class=basic", "--best").returncode == 2
    assert unfasten(str(record), "tools.pad.class=basic", "--for", "cell").returncode == 2
    done = unfasten(str(record), "joints.cel-strip.reuse=reusable", "tools.pad.class=basc")
    assert done.returncode == 2
    assert 'did you mean "cell-strip"?' in done.stderr
    assert 'did you mean "basic"?' in done.stderr
    told = unfasten(str(record), "x", "--json")
    assert told.returncode == 2
    assert json.loads(told.stdout)["findings"][0]["code"] == "change.syntax"
    assert unfasten(str(record), "--best", "--for", "sell").returncode == 2
