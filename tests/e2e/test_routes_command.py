"""`unfasten routes` and `unfasten why` from outside: the JSON that others rely on, exit status, cautions."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from unfasten.cli.main import cli

ROOT = Path(__file__).parent.parent.parent
TARN = str(ROOT / "examples" / "tarn-11.yaml")


def run(*args: str) -> Result:
    return CliRunner().invoke(cli, list(args))


def test_json_of_all_parts() -> None:
    answer = json.loads(run("routes", TARN, "--json").stdout)
    routes = {route["target"]: route for route in answer["routes"]}
    assert len(routes) == 51
    battery = routes["battery"]
    assert battery["reachable"] is True
    assert battery["proven"] is True
    assert battery["steps"]["low"] < battery["steps"]["high"]
    assert battery["actions"][-1] == {"do": "lift", "part": "battery", "tools": [], "side": "back"}
    assert {"do", "joint", "way", "what", "tools", "side"} <= set(battery["actions"][0])
    assert answer["stop"] is None
    assert any("cell" in caution["title"].lower() for caution in answer["cautions"])


def test_by_time_orders_the_other_cost() -> None:
    answer = json.loads(run("routes", TARN, "--to", "battery", "--by", "time", "--json").stdout)
    (route,) = answer["routes"]
    by_steps = json.loads(run("routes", TARN, "--to", "battery", "--json").stdout)["routes"][0]
    assert route["time_s"]["low"] <= by_steps["time_s"]["low"]
    assert route["steps"]["low"] >= by_steps["steps"]["low"]
    assert route["time_s"]["low"] <= route["time_s"]["high"]


def test_one_route_shows_cautions_before_the_first_action() -> None:
    text = run("routes", TARN, "--to", "battery").stdout
    assert text.index("CAUTION") < text.index("heat back-glue")
    assert "Local rules" in text


def test_swollen_battery_stops_the_procedure(tmp_path: Path) -> None:
    source = Path(TARN).read_text(encoding="utf-8")
    swollen = source.replace("condition: sound", "condition: swollen", 1)
    assert swollen != source
    path = tmp_path / "swollen.yaml"
    path.write_text(swollen, encoding="utf-8")
    result = run("routes", str(path), "--to", "battery")
    assert result.exit_code == 0, result.output
    assert "STOP" in result.stdout
    assert "release" not in result.stdout
    assert json.loads(run("routes", str(path), "--to", "battery", "--json").stdout)["stop"] is not None


def test_together_is_one_route() -> None:
    answer = json.loads(run("routes", TARN, "--to", "battery", "--to", "back-cover", "--together", "--json").stdout)
    (route,) = answer["routes"]
    lifted = [action.get("part") for action in route["actions"]]
    assert {"battery", "back-cover"} <= set(lifted)


@pytest.mark.parametrize(
    ("args", "word"),
    [
        (["routes", TARN, "--to", "batery"], 'did you mean "battery"?'),
        (["routes", TARN, "--to", "frame"], "stays"),
        (["why", TARN, "no-such-part"], "no part"),
    ],
)
def test_wrong_part_is_a_wrong_call(args: list[str], word: str) -> None:
    import subprocess
    import sys

    done = subprocess.run([sys.executable, "-m", "unfasten", *args], capture_output=True, text=True, check=False)
    assert done.returncode == 2
    assert word in done.stderr


def test_together_without_parts_is_a_wrong_call() -> None:
    assert run("routes", TARN, "--together").exit_code == 2


def test_why_says_it_in_words_and_json() -> None:
    text = run("why", TARN, "battery").stdout
    assert "Battery glue lies under" in text
    assert "An access hole would save" in text
    answer = json.loads(run("why", TARN, "battery", "--json").stdout)
    assert answer["chain"][0].startswith("Battery is held by")
    assert all(one["saves"]["steps"] >= 0 for one in answer["access_holes"])
    assert answer["alternatives"][0]["costs_more"]["steps"] >= 0
