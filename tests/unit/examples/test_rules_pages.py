"""The pages on requirements and rubrics: every key, figure, rule set and command in them is what the program has."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import yaml

from unfasten.record.read import read_record, read_tree
from unfasten.rules.library import KINDS, heads
from unfasten.rules.rubricread import FIGURES, read_rubric

DOCS = Path(__file__).parents[3] / "docs"
EXAMPLES = Path(__file__).parents[3] / "examples"


def fenced(page: str) -> str:
    """The first YAML block of a page."""
    found = re.search(r"```yaml\n(.*?)```", (DOCS / page).read_text("utf-8"), re.DOTALL)
    assert found is not None
    return found[1]


def merged(whole: Any, more: Any) -> Any:
    """A tree with another laid over it."""
    if not isinstance(whole, dict) or not isinstance(more, dict):
        return more
    return whole | {key: merged(whole.get(key), value) for key, value in more.items()}


def test_the_keys_shown_are_those_of_a_record() -> None:
    shown = yaml.load(fenced("requirements.md"), Loader=yaml.BaseLoader)
    whole = read_record((EXAMPLES / "tarn-11.yaml").read_bytes(), "tarn-11.yaml").document.value
    reading = read_tree(merged(whole, retyped(shown)))
    assert [str(finding) for finding in reading.findings] == []
    assert reading.record is not None
    assert reading.record.parts["card-tray"].kind == "card-tray"
    assert reading.record.tests.actuations.charging_port == 12000


def retyped(value: Any) -> Any:
    """Whole numbers and truth values as the reader of records types them; days stay text."""
    if isinstance(value, dict):
        return {key: retyped(item) for key, item in value.items()}
    if isinstance(value, list):
        return [retyped(item) for item in value]
    return {"true": True, "false": False}.get(value, int(value) if value.isdecimal() else value)


def test_the_example_in_the_page_on_rubrics_is_one(tmp_path: Path) -> None:
    path = tmp_path / "rubric.yaml"
    path.write_text(fenced("rubric.md"), encoding="utf-8")
    assert [mark.figure for mark in read_rubric(path).marks] == ["steps"]


def test_every_figure_stands_in_the_page_with_its_meaning() -> None:
    rows = re.findall(r"^\| `([a-z-]+)` \| ([^|]+) \|", (DOCS / "rubric.md").read_text("utf-8"), re.MULTILINE)
    assert rows == [(name, figure.meaning) for name, figure in FIGURES.items()]


def test_every_rule_set_stands_in_the_page_with_its_command() -> None:
    rows = re.findall(
        r"^\| `([a-z0-9-]+)` \| (?:`unfasten ([a-z]+)|none)", (DOCS / "requirements.md").read_text("utf-8"), re.M
    )
    wanted = {head.id: "" if head.status == "planned" else KINDS[head.kind][1] for head in heads()}
    assert dict(rows) == wanted
