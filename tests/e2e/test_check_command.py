"""`unfasten check` and `unfasten schema` by subprocess: status, streams and the JSON that others rely on."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

from support.patience import PATIENCE_S

GOOD = """\
format: unfasten-record/1
product: {id: tarn-9, name: Tarn 9, maker: Fellwright, category: other}
tools: {hex-3: {name: Hexalobular driver 3, class: basic}}
parts: {frame: {name: Midframe, stays: true}, cover: {name: Cover}}
joints:
  back-screws: {kind: screw, holds: [cover, frame], reuse: reusable, ways: [{tools: [hex-3]}]}
"""


def unfasten(*arguments: str) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-c", "from unfasten.cli.main import main; main()", *arguments]
    return subprocess.run(command, capture_output=True, text=True, encoding="utf-8", timeout=PATIENCE_S, check=False)


@pytest.fixture
def record(tmp_path: Path) -> Path:
    path = tmp_path / "tarn-9.yaml"
    path.write_text(GOOD, encoding="utf-8")
    return path


def test_a_good_record(record: Path) -> None:
    done = unfasten("check", str(record))
    assert (done.returncode, done.stderr) == (0, "")
    assert done.stdout == f"{record}: no errors, no warnings\n"
    done = unfasten("check", str(record), "--json")
    assert json.loads(done.stdout) == {"ok": True, "findings": []}


def test_warnings_do_not_fail(record: Path) -> None:
    record.write_text(GOOD.replace(", class: basic", "").replace(", reuse: reusable", ""), encoding="utf-8")
    done = unfasten("check", str(record))
    assert (done.returncode, done.stderr) == (0, "")
    assert done.stdout.splitlines() == [
        "warning  tools.hex-3 (line 3): the class of this tool is not known; "
        "write 'class: basic', with-part, with-product, commercial or proprietary [record.tool-class-unknown]",
        "warning  joints.back-screws (line 6): whether this joint can be used again is not known; "
        "write 'reuse: reusable', resupplied, removable or none [record.reuse-unknown]",
        f"{record}: no errors, 2 warnings",
    ]


def test_errors_stand_on_stderr_and_fail(record: Path) -> None:
    record.write_text(GOOD.replace("[hex-3]", "[hex-4]").replace("cover: {", "cover: {mass: 5, "), encoding="utf-8")
    done = unfasten("check", str(record))
    assert (done.returncode, done.stdout) == (1, "")
    assert done.stderr.splitlines() == [
        "error    parts.cover.mass (line 4): 5 has no unit; "
        "write a mass as text with unit, such as '5 g' [record.bad-quantity]",
        'error    joints.back-screws.ways[0].tools[0] (line 6): no tool "hex-4"; '
        'did you mean "hex-3"? [record.unknown-name]',
        f"{record}: 2 errors, no warnings",
    ]


def test_errors_in_json(record: Path) -> None:
    record.write_text(GOOD.replace("[hex-3]", "[hex-4]"), encoding="utf-8")
    done = unfasten("check", str(record), "--json")
    assert (done.returncode, done.stderr) == (1, "")
    assert json.loads(done.stdout) == {
        "ok": False,
        "findings": [
            {
                "level": "error",
                "code": "record.unknown-name",
                "at": "joints.back-screws.ways[0].tools[0]",
                "message": 'no tool "hex-4"',
                "try": 'did you mean "hex-3"?',
                "line": 6,
            }
        ],
    }


def test_json_records_are_read_too(tmp_path: Path) -> None:
    import yaml

    path = tmp_path / "tarn-9.json"
    path.write_text(json.dumps(yaml.safe_load(GOOD), indent=1), encoding="utf-8")
    assert unfasten("check", str(path)).returncode == 0
    path.write_text('{"format": "unfasten-record/1", "format": 1}', encoding="utf-8")
    done = unfasten("check", str(path))
    assert done.returncode == 1
    assert "[data.repeated-key]" in done.stderr


@pytest.mark.parametrize(
    "arguments", [["check"], ["check", "no-such-file.yaml"], ["check", "."], ["check", "a", "--nope"]]
)
def test_a_wrong_call(arguments: list[str]) -> None:
    done = unfasten(*arguments)
    assert (done.returncode, done.stdout) == (2, "")
    assert "Traceback" not in done.stderr
    assert done.stderr


def test_the_schema_is_printed() -> None:
    done = unfasten("schema")
    assert (done.returncode, done.stderr) == (0, "")
    schema = json.loads(done.stdout)
    assert schema["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    assert schema["required"] == ["format", "product", "parts", "joints"]
