"""`unfasten battery` by subprocess: sheet, JSON, status, and the day of the limits."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from support.patience import PATIENCE_S

EXAMPLES = Path(__file__).parents[2] / "examples"
BARE = """\
format: unfasten-record/1
product: {id: tarn-9, name: Tarn 9, maker: Fellwright, category: slate-tablet}
parts: {frame: {name: Midframe, stays: true}, cover: {name: Cover}}
joints: {clips: {kind: clip, holds: [cover, frame], ways: [{}]}}
"""


def unfasten(*arguments: str) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-c", "from unfasten.cli.main import main; main()", "battery", *arguments]
    return subprocess.run(command, capture_output=True, text=True, encoding="utf-8", timeout=PATIENCE_S, check=False)


def answer(*arguments: str) -> dict[str, Any]:
    done = unfasten(*arguments, "--json")
    assert (done.returncode, done.stderr) == (0, "")
    (found,) = json.loads(done.stdout)["batteries"]
    assert isinstance(found, dict)
    return found


def test_the_example_against_its_predecessor() -> None:
    found = answer(str(EXAMPLES / "tarn-11.yaml"), "--against", str(EXAMPLES / "tarn-9.yaml"), "--on", "2026-06-01")
    facts = {fact["id"]: fact for fact in found["facts"]}
    assert (found["on"], found["against"], found["energy"]["verdict"]) == ("2026-06-01", "tarn-9", "agrees")
    assert facts["cells"]["value"] == "1 in series, 2 side by side"
    assert round(facts["wh-per-l"]["value"]) == 661  # 29.41 Wh in 4.1 x 92 x 118 mm
    assert round(facts["gap"]["value"], 2) == 0.48  # 4.62 - 4.14 mm
    rulings = {ruling["id"]: ruling["verdict"] for ruling in found["transport"]["rulings"]}
    assert (rulings["road-energy"], rulings["air-alone"], rulings["air-installed"]) == ("met", "met", "does not apply")
    changes = {change["id"]: change for change in found["changes"]}
    assert round(changes["marked-energy"]["difference"], 2) == 2.31
    assert changes["mass"]["sure"] is True


def test_the_day_decides() -> None:
    plus = str(EXAMPLES / "tarn-11-plus.yaml")
    for day, verdict in (("2025-12-31", "does not apply"), ("2026-01-01", "unknown")):
        rulings = answer(plus, "--on", day)["transport"]["rulings"]
        assert {one["id"]: one["verdict"] for one in rulings}["air-packed"] == verdict
    assert any("newer edition" in text for text in answer(plus, "--on", "2027-06-01")["remarks"])


def test_the_sheet_shows_cautions_before_anything_else() -> None:
    done = unfasten(str(EXAMPLES / "tarn-11.yaml"), "--on", "2026-06-01")
    assert (done.returncode, done.stderr) == (0, "")
    text = done.stdout
    assert text.index("CAUTION  Lithium cell.") < text.index("Local rules and qualified persons") < text.index("figure")
    assert "because heat near the cell: back-glue, way 0 (used on film); battery-glue, way 0 (used on film)" in text
    assert "because the battery side reached 47 ± 1 °C, above storage to 45 °C" in text
    assert "[adr-2025, special provision 188; since 2025-01-01, read as A]" in " ".join(text.split())
    assert "not coded, see" in text


def test_a_swollen_battery_stops(tmp_path: Path) -> None:
    path = tmp_path / "swollen.yaml"
    text = (EXAMPLES / "tarn-11.yaml").read_text(encoding="utf-8")
    path.write_text(text.replace("condition: sound", "condition: swollen"), encoding="utf-8")
    lines = unfasten(str(path)).stdout.splitlines()
    assert lines[2].startswith("STOP")
    assert "forbidden by air: recorded as swollen" in answer(str(path))["transport"]["rulings"][-1]["says"]


@pytest.mark.parametrize(("text", "code"), [(BARE, 2), (BARE.replace("kind: clip", "kind: clap"), 1)])
def test_status(tmp_path: Path, text: str, code: int) -> None:
    path = tmp_path / "record.yaml"
    path.write_text(text, encoding="utf-8")
    done = unfasten(str(path))
    assert done.returncode == code
    assert done.stdout == ""
    assert ("[pack.none]" in done.stderr) is (code == 2)
