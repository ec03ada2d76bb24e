"""`unfasten requirements`, `label`, `rubric` and `rules` by subprocess: status, streams and JSON."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from support.patience import PATIENCE_S

EXAMPLES = Path(__file__).parents[2] / "examples"
TABLET = str(EXAMPLES / "tarn-11.yaml")
RUBRIC = str(EXAMPLES / "rubrics" / "bench-day.yaml")
DAY = ("--on", "2026-06-01")
LATER = ("--on", "2027-02-18")


def unfasten(*arguments: str) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-c", "from unfasten.cli.main import main; main()", *arguments]
    return subprocess.run(command, capture_output=True, text=True, encoding="utf-8", timeout=PATIENCE_S, check=False)


def answer(*arguments: str) -> dict[str, Any]:
    done = unfasten(*arguments, "--json")
    assert (done.returncode, done.stderr) == (0, "")
    found: dict[str, Any] = json.loads(done.stdout)
    return found


def test_json_of_the_requirements() -> None:
    found = answer("requirements", TABLET, "--rules", "eu-2023-1670", *DAY)
    assert (found["rules"], found["applies"]) == ("eu-2023-1670", True)
    verdicts = {item["id"]: item for item in found["requirements"]}
    assert verdicts["update-years"]["verdict"] == "met"
    assert verdicts["delivery"]["verdict"] == "unknown"
    assert verdicts["delivery"]["look_at"][0]["where"] == "supply.delivery"
    outer = {item["title"]: item["verdict"] for item in verdicts["disassembly-outer"]["made_of"]}
    assert outer["Back cover"] == "does not apply"  # it swings aside and need not come off
    assert outer["Card tray"] == verdicts["disassembly-outer"]["verdict"] == "unknown"
    assert all({"id", "title", "clause", "verdict"} <= set(item) for item in found["requirements"])
    assert sum(found["verdicts"].values()) == len(verdicts)
    assert {"what", "where", "settles"} == set(found["look_at"][0])
    assert found["not_coded"]


def test_the_battery_regulation_waits_for_its_day() -> None:
    early = answer("requirements", TABLET, "--rules", "eu-2023-1542-11", *DAY)
    assert (early["applies"], "2027-02-18" in early["reason"]) == (False, True)
    for name, verdict in (("tarn-9", "met"), ("tarn-11", "met"), ("tarn-11-plus", "not met")):
        found = answer("requirements", str(EXAMPLES / f"{name}.yaml"), "--rules", "eu-2023-1542-11", *LATER)
        assert {item["id"]: item["verdict"] for item in found["requirements"]}["removable"] == verdict, name


def test_the_text_names_the_joint_that_stands_in_the_way() -> None:
    done = unfasten("requirements", str(EXAMPLES / "tarn-11-plus.yaml"), "--rules", "eu-2023-1542-11", *LATER)
    assert (done.returncode, done.stderr) == (0, "")
    assert "not met         removable by the end user  [removable; Article 11]" in done.stdout
    assert "Battery glue needs heat" in done.stdout
    assert "no proof of conformity" in " ".join(done.stdout.split())
    assert max(map(len, done.stdout.splitlines())) < 150


def test_label_of_test_figures(tmp_path: Path) -> None:
    tests = "tests: {endurance: 60.0 ± 0.5 h, falls: [60, 60, 60, 60], ingress: IP42}\n"
    path = tmp_path / "tested.yaml"
    path.write_text(Path(TABLET).read_text("utf-8") + tests, encoding="utf-8")
    found = {item["id"]: item for item in answer("label", str(path), *DAY)["quantities"]}
    # 1000 x 59 / (3.87 x 7600) = 2.005984 and 1000 x 61 / (3.87 x 7600) = 2.073983
    assert found["EEI"]["figure"] == {"low": "2.005984", "high": "2.073983"}
    assert found["EEI"]["class"] == {"low": "G", "high": "G"}
    assert found["falls"]["class"] == {"low": "D", "high": "D"}
    assert found["ingress"]["shown"] == {"low": "IP42", "high": "IP42"}
    assert found["cycles"]["known"] is False
    assert "class G" in unfasten("label", str(path), *DAY).stdout


def test_json_and_text_of_a_rubric() -> None:
    found = answer("rubric", TABLET, "--rubric", RUBRIC, *DAY)
    assert found["rubric"] == "bench-day"
    assert float(found["percent"]["low"]) < float(found["percent"]["high"])
    shares = [float(item["share"]) for item in found["criteria"]]
    assert sum(shares) == pytest.approx(100, abs=0.05)
    done = unfasten("rubric", TABLET, "--rubric", RUBRIC, *DAY)
    assert f"{found['percent']['low']} to {found['percent']['high']} %" in done.stdout


def test_a_rubric_with_errors_is_refused_with_all_of_them(tmp_path: Path) -> None:
    path = tmp_path / "mine.yaml"
    path.write_text(
        Path(RUBRIC).read_text("utf-8").replace("figure: steps", "figure: step").replace("weight: 3", "weight: no")
    )
    done = unfasten("rubric", TABLET, "--rubric", str(path))
    assert (done.returncode, done.stdout) == (1, "")
    assert 'criteria[0].figure (line 12): "step" is not allowed; did you mean "steps"?' in done.stderr
    assert "criteria[0].weight (line 14)" in done.stderr
    assert "2 errors; the rubric was not used" in done.stderr
    done = unfasten("rubric", TABLET, "--rubric", str(path), "--json")
    assert done.returncode == 1
    assert [item["at"] for item in json.loads(done.stdout)["findings"]] == ["criteria[0].figure", "criteria[0].weight"]


def test_a_rubric_that_names_a_part_nobody_has(tmp_path: Path) -> None:
    path = tmp_path / "mine.yaml"
    path.write_text(
        Path(RUBRIC).read_text("utf-8").replace("of: display-assembly", "of: display-asembly"), encoding="utf-8"
    )
    done = unfasten("rubric", TABLET, "--rubric", str(path))
    assert (done.returncode, done.stdout) == (1, "")
    assert 'did you mean "display-assembly"?' in done.stderr
    assert "Traceback" not in done.stderr


def test_the_list_of_rule_sets() -> None:
    found = {item["id"]: item for item in answer("rules")["rules"]}
    assert found["fr-2020-1757"]["status"] == "planned"
    assert found["eu-2023-1542-11"]["from"] == "2027-02-18"
    done = unfasten("rules")
    assert "planned" in done.stdout
    assert "points were not found in a" in " ".join(done.stdout.split())


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (["requirements", TABLET, "--rules", "eu-2023-1669"], "run 'unfasten index' for it"),
        (["index", TABLET, "--rules", "eu-2023-1670"], "run 'unfasten requirements' for it"),
        (["index", TABLET, "--rules", "fr-2020-1757"], "is planned, not coded"),
        (["label", TABLET, "--rules", "eu-2023-1670"], "run 'unfasten requirements' for it"),
        (["requirements", TABLET, "--reading", "process"], "is not NAME=OPTION"),
        (["requirements", TABLET, "--on", "2026-02-30"], "2026-02-30"),
        (["requirements", "nowhere.yaml"], "nowhere.yaml"),
        (["rubric", TABLET], "--rubric"),
    ],
)
def test_a_wrong_call_ends_with_2(arguments: list[str], says: str) -> None:
    done = unfasten(*arguments)
    assert (done.returncode, done.stdout) == (2, "")
    assert says in done.stderr
    assert "Traceback" not in done.stderr
