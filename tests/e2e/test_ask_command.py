"""`unfasten ask` and `unfasten answer` by subprocess: questions, answers, and the figure they narrow."""

from __future__ import annotations

import json
import shutil
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from support.patience import PATIENCE_S


def unfasten(*arguments: str) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-c", "from unfasten.cli.main import main; main()", *arguments]
    return subprocess.run(command, capture_output=True, text=True, encoding="utf-8", timeout=PATIENCE_S, check=False)


def asked(path: Path, *arguments: str) -> dict[str, Any]:
    done = unfasten("ask", str(path), *arguments, "--on", "2026-06-01", "--json")
    assert (done.returncode, done.stderr) == (0, "")
    found: dict[str, Any] = json.loads(done.stdout)
    return found


@pytest.fixture
def tarn(root: Path, tmp_path: Path) -> Path:
    return Path(shutil.copy(root / "examples" / "tarn-11.yaml", tmp_path))


def answer_all(path: Path, figure: str, way: str) -> int:
    """Answer the best question until the figure is settled; give the number of answers."""
    for count in range(20):
        found = asked(path, "--for", figure)
        if found["settled"]:
            return count
        best = found["questions"][0]
        kind = next(key for key in ("joint", "part", "bundle") if key in best)
        number = ["--way", str(best["way"])] if "way" in best else []
        done = unfasten("answer", str(path), f"--{kind}", best[kind], *number, "--cover", best["cover"], way)
        assert (done.returncode, done.stderr) == (0, "")
    raise AssertionError("not settled after 20 answers")


def test_answers_settle_the_battery(tarn: Path) -> None:
    before = asked(tarn, "--for", "battery")
    assert before["figure"] == {"name": "battery", "low": 8, "high": 11}
    assert set(before["questions"][0]) >= {"text", "joint", "way", "cover", "narrows", "group", "while_open"}
    assert 1 <= answer_all(tarn, "battery", "--clear") <= 5
    assert asked(tarn, "--for", "battery")["figure"] == {"name": "battery", "low": 8, "high": 8}
    routes = json.loads(unfasten("routes", str(tarn), "--to", "battery", "--json").stdout)
    assert routes["routes"][0]["steps"] == {"low": 8, "high": 8}


def test_the_other_answers_settle_it_at_the_other_end(tarn: Path) -> None:
    answer_all(tarn, "battery", "--covers")
    assert asked(tarn, "--for", "battery")["figure"] == {"name": "battery", "low": 11, "high": 11}


def test_yes_and_no_answer_the_question_as_it_is_printed(tarn: Path) -> None:
    plug = ["answer", str(tarn), "--joint", "battery-plug", "--cover", "near-field-coil"]
    yes = json.loads(unfasten(*plug, "--yes", "-o", str(tarn.with_name("yes.yaml")), "--json").stdout)
    assert yes["entry"] == {"do": "found", "joint": "battery-plug", "way": 0, "clear_of": ["near-field-coil"]}
    assert yes["says"] == "the battery plug can be opened with the near-field coil still in place"
    no = unfasten(*plug, "--no")
    assert no.stdout.endswith("the near-field coil has to be out of the way before the battery plug can be opened\n")
    assert "under: [near-field-coil]}" in tarn.read_text("utf-8")


def test_the_table(tarn: Path) -> None:
    done = unfasten("ask", str(tarn), "--limit", "2", "--on", "2026-06-01")
    assert (done.returncode, done.stderr) == (0, "")
    lines = done.stdout.splitlines()
    assert lines[0] == "index: open: 3.2575 to 3.37: 10 open covers can matter"
    assert lines[1].split() == ["no.", "narrows", "[points]", "now", "question"]
    assert lines[2].split()[:3] == ["1", "0.0375", "*"]
    assert lines[2].endswith("still in place?")


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (["ask", "FILE", "--for", "batery"], 'did you mean "battery"?'),
        (["ask", "FILE", "--limit", "0"], "--limit"),
        (["answer", "FILE", "--joint", "battery-plug", "--cover", "near-field-coil"], "give one answer"),
        (
            ["answer", "FILE", "--joint", "battery-plug", "--cover", "near-field-coil", "--yes", "--covers"],
            "one answer",
        ),
        (["answer", "FILE", "--cover", "near-field-coil", "--yes"], "name one: what the question is about"),
        (["answer", "FILE", "--joint", "back-clips", "--cover", "card-tray", "--yes"], "[answer.not-open]"),
    ],
)
def test_a_wrong_call_ends_with_2_and_writes_nothing(tarn: Path, arguments: list[str], says: str) -> None:
    before = tarn.read_bytes()
    done = unfasten(*[str(tarn) if word == "FILE" else word for word in arguments])
    assert (done.returncode, done.stdout) == (2, "")
    assert says in done.stderr
    assert "Traceback" not in done.stderr
    assert tarn.read_bytes() == before


def test_a_record_with_errors_ends_with_1(tarn: Path) -> None:
    tarn.write_text(tarn.read_text("utf-8").replace("tools: [pin]", "tools: [pinn]"), encoding="utf-8")
    for call in (["ask", str(tarn)], ["answer", str(tarn), "--joint", "x", "--cover", "y", "--yes"]):
        done = unfasten(*call)
        assert (done.returncode, done.stdout) == (1, "")
        assert 'did you mean "pin"?' in done.stderr
