"""`unfasten index` and `unfasten verify` by subprocess: status, streams and the JSON that others rely on."""

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
tools: {hex-3: {name: Hexalobular driver 3, class: basic}}
parts:
  frame: {name: Midframe, stays: true}
  cover: {name: Cover, role: back-cover}
  cell: {name: Battery, role: battery}
joints:
  back-screws: {kind: screw, holds: [cover, frame], reuse: reusable, ways: [{tools: [hex-3]}]}
  cell-strip: {kind: adhesive, holds: [cell, frame], reuse: resupplied, ways: [{under: [cover]}]}
supply:
  spare_parts: {public: all, professional: all}
  updates: {years: 7}
  repair_information: {public: free, professional: free, board_diagrams: professional}
"""


def unfasten(*arguments: str) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-c", "from unfasten.cli.main import main; main()", *arguments]
    return subprocess.run(command, capture_output=True, text=True, encoding="utf-8", timeout=PATIENCE_S, check=False)


def answer(*arguments: str) -> dict[str, Any]:
    done = unfasten("index", *arguments, "--json")
    assert (done.returncode, done.stderr) == (0, "")
    found: dict[str, Any] = json.loads(done.stdout)
    return found


@pytest.fixture
def record(tmp_path: Path) -> Path:
    path = tmp_path / "tarn-9.yaml"
    path.write_text(RECORD, encoding="utf-8")
    return path


def test_json_of_the_index(record: Path) -> None:
    found = answer(str(record), "--rules", "eu-2023-1669", "--on", "2026-06-01")
    # cover: 1 step; battery: 2 steps; fasteners 5 and 3; tools 4 and 5 (the screws are the cover's own)
    assert found["rules"] == "eu-2023-1669"
    assert found["scores"]["S_DD"] == {"low": "5.00", "high": "5.00"}
    assert found["scores"]["S_F"] == {"low": "4.40", "high": "4.40"}
    assert found["scores"]["S_T"] == {"low": "4.90", "high": "4.90"}
    # 1.25 + 0.15 x (4.4 + 4.9 + 5 + 5 + 5) = 4.895
    assert found["index"] == {"low": "4.895", "high": "4.895"}
    assert found["class"] == {"low": "A", "high": "A"}
    assert found["parts"]["battery"]["steps"] == {"low": 2, "high": 2}
    assert found["open"] == []
    assert {"id", "chosen", "alternatives", "effect"} <= set(found["readings"][0])


def test_what_is_missing_opens_the_index(record: Path) -> None:
    record.write_text(RECORD.split("supply:")[0], encoding="utf-8")
    found = answer(str(record), "--on", "2026-06-01")
    # 1.25 + 0.15 x (9.3 + 3) to 1.25 + 0.15 x (9.3 + 15)
    assert found["index"] == {"low": "3.095", "high": "4.895"}
    assert found["class"] == {"low": "C", "high": "A"}
    assert {item["where"] for item in found["open"]} == {
        "supply.spare_parts.public",
        "supply.spare_parts.professional",
        "supply.updates.years",
        "supply.repair_information.public",
        "supply.repair_information.professional",
        "supply.repair_information.board_diagrams",
    }
    for item in found["open"]:
        assert set(item) >= {"what", "where", "affects", "could_be"}


def test_the_text_explains_and_defaults_to_today(record: Path) -> None:
    done = unfasten("index", str(record))
    assert (done.returncode, done.stderr) == (0, "")
    assert done.stdout.startswith("Tarn 9, Fellwright\n")
    assert "R  4.895   class A" in done.stdout
    assert "3.00 resupplied: cell-strip" in done.stdout


def test_readings_are_taken_from_the_command_line(record: Path) -> None:
    found = answer(str(record), "--on", "2026-06-01", "--reading", "sequence=whole-route")
    # the battery's route then needs the driver too: 5 - 0.3 - 0.1
    assert found["scores"]["S_T"]["low"] == "4.60"
    assert next(taken for taken in found["readings"] if taken["id"] == "sequence")["chosen"] == "whole-route"


def test_rules_that_do_not_apply_are_no_error(record: Path) -> None:
    found = answer(str(record), "--on", "2025-06-19")
    assert (found["applies"], "2025-06-20" in found["reason"]) == (False, True)
    record.write_text(RECORD.replace("slate-tablet", "other"), encoding="utf-8")
    found = answer(str(record))
    assert set(found) >= {"rules", "applies", "reason"}
    assert found["applies"] is False


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (["--rules", "eu-2023-1699"], 'did you mean "eu-2023-1669"?'),
        (["--reading", "class-roundin=unrounded"], 'did you mean "class-rounding"?'),
        (["--reading", "class-rounding=round"], 'has no option "round"'),
        (["--reading", "class-rounding"], "is not NAME=OPTION"),
        (["--reading", "off-scale=lowest", "--reading", "off-scale=no-index"], "given twice"),
        (["--on", "2026-13-01"], "2026-13-01"),
    ],
)
def test_a_wrong_call_ends_with_2(record: Path, arguments: list[str], says: str) -> None:
    done = unfasten("index", str(record), *arguments)
    assert (done.returncode, done.stdout) == (2, "")
    assert says in done.stderr
    assert "Traceback" not in done.stderr


def test_a_record_with_errors_ends_with_1(record: Path) -> None:
    record.write_text(RECORD.replace("[hex-3]", "[hex-4]"), encoding="utf-8")
    done = unfasten("index", str(record))
    assert (done.returncode, done.stdout) == (1, "")
    assert 'did you mean "hex-3"?' in done.stderr
    done = unfasten("index", str(record), "--json")
    assert done.returncode == 1
    found = json.loads(done.stdout)
    assert (found["ok"], found["findings"][0]["at"]) == (False, "joints.back-screws.ways[0].tools[0]")


def test_a_missing_file_ends_with_2() -> None:
    done = unfasten("index", "nowhere.yaml")
    assert (done.returncode, done.stdout) == (2, "")
    assert "nowhere.yaml" in done.stderr


def test_verify_recomputes_every_check_value() -> None:
    done = unfasten("verify")
    assert (done.returncode, done.stderr) == (0, "")
    assert "eu-2023-1669-eprel-2238053  [published: eprel-2238053" in done.stdout
    found = json.loads(unfasten("verify", "--json").stdout)
    assert found["ok"] is True
    (entry,) = [check for check in found["checks"] if check["id"] == "eu-2023-1669-eprel-2238053"]
    assert entry["values"][0] == {
        "name": "R",
        "printed": "4.01",
        "computed": "4.0125",
        "tolerance": "0.005",
        "unit": "point",
        "agrees": True,
    }
