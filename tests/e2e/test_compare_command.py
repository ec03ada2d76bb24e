"""`unfasten compare`, `exchange` and `swaps` by subprocess: status, streams, JSON and pages."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from support.patience import PATIENCE_S

FOLDER = Path(__file__).parents[2] / "examples"
NINE, ELEVEN, PLUS = (str(FOLDER / f"{name}.yaml") for name in ("tarn-9", "tarn-11", "tarn-11-plus"))
DAY = ("--on", "2026-06-01")


def unfasten(*arguments: str) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-c", "from unfasten.cli.main import main; main()", *arguments]
    return subprocess.run(command, capture_output=True, text=True, encoding="utf-8", timeout=PATIENCE_S, check=False)


def answer(*arguments: str) -> dict[str, Any]:
    done = unfasten(*arguments, "--json")
    assert (done.returncode, done.stderr) == (0, "")
    found: dict[str, Any] = json.loads(done.stdout)
    return found


def test_compare_lists_headlines_by_consequence() -> None:
    done = unfasten("compare", NINE, ELEVEN, *DAY)
    assert (done.returncode, done.stderr) == (0, "")
    lines = done.stdout.splitlines()
    first = next(line for line in lines if line.lstrip().startswith("1  "))
    assert first.strip() == "1  Display assembly: pairing none → notification [harder]"
    assert any("Battery: depth 4 to 7 → 8 to 11 [harder]" in line for line in lines)


def test_compare_as_json_holds_every_difference_once_in_the_headlines() -> None:
    found = answer("compare", NINE, ELEVEN, PLUS, *DAY)
    assert [step["from"] for step in found["steps"]] == ["tarn-9", "tarn-11"]
    for step in found["steps"]:
        told = [number for line in step["headlines"] for number in (*line["differences"], *line["follows"])]
        assert sorted(told) == list(range(len(step["differences"])))
        places = [line["place"] for line in step["headlines"]]
        assert places == sorted(places)
    index = next(d for d in found["steps"][0]["differences"] if d["kind"] == "re-scored" and d["what"] == "index")
    assert index["before"] == "3.0675 to 3.17, class C"
    cable = next(d for d in found["steps"][0]["differences"] if d["what"] == "cable.length" and d["name"] == "Battery")
    assert cable["measured"] == {"delta": "-7.0", "u": "0.424", "k": "2", "verdict": "exceeds",
                                 "says": "-7 ± 0.42 mm: exceeds 2 u"}  # fmt: skip


def test_compare_writes_a_page(tmp_path: Path) -> None:
    done = unfasten("compare", NINE, ELEVEN, *DAY, "-o", str(tmp_path))
    assert done.returncode == 0
    page = tmp_path / "compare-tarn-9-tarn-11.html"
    assert done.stdout.strip() == str(page)
    text = page.read_text("utf-8")
    assert "Display assembly: pairing none → notification" in text
    assert "src=" not in text
    assert "url(" not in text


def test_a_person_breaks_a_pair() -> None:
    found = answer("compare", NINE, ELEVEN, *DAY, "--break", "card-tray")
    kinds = {(d["kind"], d["about"]["before"], d["about"]["after"]) for d in found["steps"][0]["differences"]}
    assert {("gone", "card-tray", None), ("new", None, "card-tray")} <= kinds


def test_pairs_come_from_a_file_too(tmp_path: Path) -> None:
    file = tmp_path / "pairs.yaml"
    file.write_text("pairs: [headset-socket=near-field-coil]\nbreaks: [card-tray]\n", "utf-8")
    found = answer("compare", NINE, ELEVEN, *DAY, "--pairs", str(file))
    rows = [row["members"] for row in found["parts"]]
    assert ["headset-socket", "near-field-coil"] in rows
    assert ["card-tray", None] in rows


def test_a_file_of_pairs_with_mistakes_names_them_all(tmp_path: Path) -> None:
    file = tmp_path / "pairs.yaml"
    file.write_text("pairs: [1]\nbrakes: [card-tray]\n", "utf-8")
    done = unfasten("compare", NINE, ELEVEN, *DAY, "--pairs", str(file))
    assert done.returncode == 1
    assert "pairs[0]" in done.stderr
    assert 'did you mean "breaks"?' in done.stderr


@pytest.mark.parametrize(
    ("arguments", "code"),
    [
        (("compare", NINE), "compare.count"),
        (("compare", *[NINE] * 9), "compare.count"),
        (("compare", NINE, ELEVEN, "--pair", "no-such=battery"), "compare.pin-unknown"),
        (("exchange", NINE), "compare.count"),
        (("exchange", NINE, ELEVEN, "--part", "batery"), "exchange.unknown-part"),
    ],
)
def test_a_wrong_call_ends_with_status_2_and_a_remedy(arguments: tuple[str, ...], code: str) -> None:
    done = unfasten(*arguments)
    assert done.returncode == 2
    assert f"[{code}]" in done.stderr
    assert done.stdout == ""


def test_a_broken_record_is_told_with_its_findings(tmp_path: Path) -> None:
    broken = tmp_path / "broken.yaml"
    broken.write_text("format: unfasten-record/1\nproduct: {id: x}\n", "utf-8")
    for command in ("compare", "exchange", "swaps"):
        done = unfasten(command, NINE, str(broken))
        assert done.returncode == 1
        assert "record.missing" in done.stderr


def test_a_folder_that_cannot_be_written_to(tmp_path: Path) -> None:
    taken = tmp_path / "taken"
    taken.write_text("", "utf-8")
    done = unfasten("compare", NINE, ELEVEN, *DAY, "-o", str(taken / "below"))
    assert done.returncode == 2
    assert "[report.cannot-write]" in done.stderr


def test_exchange_gives_every_criterion_of_one_part() -> None:
    found = answer("exchange", NINE, ELEVEN, "--part", "front-camera")
    (part,) = found["parts"]
    into_nine = next(e for e in part["exchanges"] if e["place"]["id"] == "tarn-9")
    assert into_nine["answer"] == "fits"
    reach = next(c for c in into_nine["criteria"] if c["name"] == "cable reach")
    assert reach["probability"] == pytest.approx(0.95221)
    assert [[one["id"] for one in pool] for pool in part["pools"]] == [["tarn-9", "tarn-11"]]


def test_exchange_says_by_which_rule_it_decides() -> None:
    done = unfasten("exchange", NINE, ELEVEN, "--rule", "guard-band", "-k", "1.645")
    assert done.stdout.startswith("Decision rule: guard band of 1.645 u inside the limits")


def test_swaps_shows_matrix_and_next_tests(tmp_path: Path) -> None:
    done = unfasten("swaps", NINE, ELEVEN, PLUS, *DAY)
    assert done.returncode == 0
    assert "Tarn 11: provisional, 18 of 34 cells that matter are filled" in done.stdout
    assert "Tarn 11 Plus: Display assembly from Tarn 11 Plus, other unit" in done.stdout
    page = unfasten("swaps", NINE, ELEVEN, *DAY, "-o", str(tmp_path))
    assert (tmp_path / "swaps-tarn-9-tarn-11.html").exists(), page.stderr


def test_swaps_of_one_record() -> None:
    found = answer("swaps", ELEVEN, *DAY)
    assert [one["state"] for one in found["records"]] == ["provisional"]
    assert found["next"]
