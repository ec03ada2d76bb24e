"""`unfasten worktime` by subprocess: predictions written out, the log beside them, a file of one's own, and status."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from support.patience import PATIENCE_S

EXAMPLES = Path(__file__).parents[2] / "examples"


def unfasten(*arguments: str) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-c", "from unfasten.cli.main import main; main()", "worktime", *arguments]
    return subprocess.run(command, capture_output=True, text=True, encoding="utf-8", timeout=PATIENCE_S, check=False)


def answer(*arguments: str) -> dict[str, Any]:
    done = unfasten(*arguments, "--json")
    assert (done.returncode, done.stderr) == (0, "")
    found = json.loads(done.stdout)
    assert isinstance(found, dict)
    return found


def test_every_way_has_a_time_or_a_reason() -> None:
    found = answer(str(EXAMPLES / "tarn-11.yaml"))
    assert len(found["ways"]) > 80
    for way in found["ways"]:
        assert (way["low"] is None) == (way["high"] is None)
        assert way["low"] is not None or way["reason"]
    brace = next(way for way in found["ways"] if way["joint"] == "battery-brace-screws")
    assert brace["low"] == {"time_s": 23.04, "tmu": 640, "times": 4, "written": "A0 B0 G0 A1 B0 P3 L10 A1 B0 P1 A0"}
    assert (brace["own_time_s"], brace["observed_s"]) == (20.0, [19.0])


def test_the_log_of_the_predecessor_agrees_with_the_sequences_for_screws() -> None:
    screw = next(one for one in answer(str(EXAMPLES / "tarn-9.yaml"))["agreement"] if one["operation"] == "screw")
    assert screw["observations"] == 23
    low, high = screw["ratio_interval"]
    assert low < screw["ratio"] < high
    assert low < 1 < high


def test_a_route_with_its_cautions() -> None:
    record = str(EXAMPLES / "tarn-11.yaml")
    route = answer(record, "--to", "battery")["route"]
    assert route["total_s"]["low"] == pytest.approx(route["predicted_s"]["low"] + route["from_record_s"])
    assert route["cautions"]
    text = unfasten(record, "--to", "battery").stdout
    assert text.index("CAUTION") < text.index("tool changes")


def test_a_swollen_battery_stops_the_route(tmp_path: Path) -> None:
    path = tmp_path / "swollen.yaml"
    text = (EXAMPLES / "tarn-11.yaml").read_text(encoding="utf-8")
    path.write_text(text.replace("condition: sound", "condition: swollen"), encoding="utf-8")
    done = unfasten(str(path), "--to", "battery")
    assert done.returncode == 0
    assert done.stdout.startswith("STOP  The record says the battery is swollen.")
    assert "tool changes" not in done.stdout


def test_a_file_of_ones_own(tmp_path: Path) -> None:
    path = tmp_path / "own.yaml"
    path.write_text(
        "format: unfasten-worktime/1\ntitle: our bench\n"
        'operations: {tape: {sequence: "A1 B0 G1 M3 X0 I0 A0", per: once, confidence: own}}\n',
        encoding="utf-8",
    )
    found = answer(str(EXAMPLES / "tarn-11.yaml"), "--data", str(path))
    assert found["tables"][-1] == "our bench"
    tape = next(way for way in found["ways"] if way["joint"] == "heat-spreader-tape")
    assert tape["low"]["time_s"] == 1.8
    path.write_text("format: unfasten-worktime/1\ntitle: x\ncolour: red\n", encoding="utf-8")
    done = unfasten(str(EXAMPLES / "tarn-11.yaml"), "--data", str(path))
    assert (done.returncode, done.stdout) == (1, "")
    assert "unknown key" in done.stderr


def test_wrong_calls_end_with_status_2() -> None:
    record = str(EXAMPLES / "tarn-11.yaml")
    done = unfasten(record, "--to", "batery")
    assert done.returncode == 2
    assert 'did you mean "battery"?' in done.stderr
    assert unfasten(record, "--model", "guess").returncode == 2
