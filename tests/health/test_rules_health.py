"""House rules of rule sets: no number in code, every figure cited and used, every reading written up."""

from __future__ import annotations

import ast
import re
from datetime import date, timedelta
from pathlib import Path

import pytest

from support.hand_product import DAY, piece, product, route, take, undo
from unfasten.evidence.checkvalue import load_checks
from unfasten.evidence.cite import sources
from unfasten.evidence.parameter import Law, numbers_in
from unfasten.rules.library import SETS, Edition, edition, folders
from unfasten.rules.readings import choose
from unfasten.service.verify import check_files

ROOT = Path(__file__).parents[2]
RULE_FILES = sorted(SETS.rglob("*.py"))
ALLOWED = {0, 1, -1, 2}
#: parameters of the index itself, which no criterion asks for
OF_THE_INDEX = {"index.weights", "index.decimals", "class.limits"}


@pytest.fixture(params=list(folders()))
def rules(request: pytest.FixtureRequest) -> Edition:
    return edition(request.param)


@pytest.mark.parametrize("path", RULE_FILES, ids=lambda path: path.name)
def test_no_number_stands_in_the_code_of_a_rule(path: Path) -> None:
    numbers = [
        (node.lineno, node.value)
        for node in ast.walk(ast.parse(path.read_text("utf-8")))
        if isinstance(node, ast.Constant) and isinstance(node.value, int | float | complex)
        if not isinstance(node.value, bool) and node.value not in ALLOWED
    ]
    assert numbers == []


def test_every_parameter_is_cited_with_unit_meaning_and_range(rules: Edition) -> None:
    for parameter in rules.parameters.values():
        assert parameter.unit, parameter.id
        assert parameter.meaning, parameter.id
        assert parameter.range[0] < parameter.range[1], parameter.id
        for figure in parameter.history:
            assert figure.cite.doc in sources()
            assert figure.cite.at
            assert figure.since >= rules.since
            assert list(numbers_in(figure.value)), parameter.id


def test_every_parameter_is_used_and_every_use_declared(rules: Edition) -> None:
    needed = {name for criterion in rules.criteria for name in criterion.needs}
    assert needed | OF_THE_INDEX == set(rules.parameters)


def test_a_criterion_asks_only_for_what_it_declares(rules: Edition) -> None:
    heated = route(4, undo("glue", None, "unknown"), undo("weld", "none", "proprietary"), take("cell"))
    cell = piece("cell", "battery", heated, route(9, undo("glue", "removable")))
    made = [
        product(cell, piece("pivot", "hinge", None), category=category, supply=supply)
        for category in ("slate-tablet", "foldable-smartphone")
        for supply in ({}, None, {"updates": {"years": 1}, "spare_parts": {"public": [], "professional": []}})
    ]
    for criterion in rules.criteria:
        law = Law(rules.parameters, DAY)
        for item in made:
            criterion(item, law, choose(rules.readings, {}))
            criterion(item, law, choose(rules.readings, {"off-scale": "no-index"}))
        assert law.asked <= set(criterion.needs), criterion.id
        assert law.asked, criterion.id


def test_every_criterion_has_a_clause_and_a_check_value(rules: Edition) -> None:
    given = [check for path in check_files() for check in load_checks(path) if check.model.startswith(rules.id)]
    figures = {value.name.split(".")[0] for check in given for value in check.expect}
    for criterion in rules.criteria:
        assert criterion.clause.startswith("Annex"), criterion.id
        assert criterion.id in figures, criterion.id


def test_weights_sum_to_one(rules: Edition) -> None:
    for name in ("index.weights", "parts.weights", "parts.weights_foldable"):
        assert sum(rules.parameters[name].on(DAY).table.values()) == 1, name


def test_tables_of_bands_leave_no_gap(rules: Edition) -> None:
    for name in ("depth.points", "class.limits", "updates.points"):
        starts = [row["at_least"] for row in rules.parameters[name].on(DAY).rows]
        assert len(set(starts)) == len(starts), name
        assert starts in (sorted(starts), sorted(starts, reverse=True)), name  # type: ignore[type-var]


def test_figures_not_checked_for_a_year_are_listed(rules: Edition) -> None:
    """A warning only: on the day of a release someone looks at these again."""
    old = [p.id for p in rules.parameters.values() if date.today() - p.still_valid_on > timedelta(days=366)]
    if old:
        print(f"not checked for a year: {', '.join(old)}")
    assert all(p.still_valid_on >= rules.since for p in rules.parameters.values())


def test_no_doubtful_figure_is_coded_as_law(rules: Edition) -> None:
    assert {parameter.confidence[0] for parameter in rules.parameters.values()} == {"L"}


def test_readings_are_written_up(rules: Edition) -> None:
    page = (ROOT / "docs" / "readings.md").read_text("utf-8")
    section = page.split(f"## {rules.id}\n")[1].split("\n## ")[0]
    written = re.findall(r"^### `([a-z-]+)`$", section, re.MULTILINE)
    assert written == list(rules.readings)
    for block, reading in zip(section.split("\n### ")[1:], rules.readings.values(), strict=True):
        options = re.findall(r"^- `([a-z-]+)`( \(default\))?: (.+)$", block, re.MULTILINE)
        assert {name: " ".join(meaning.split()) for name, _, meaning in options} == dict(reading.options), reading.id
        assert [name for name, default, _ in options if default] == [reading.default], reading.id
        for text in (reading.question, reading.at, reading.why.strip()):
            assert text in block, reading.id


def test_sources_say_how_they_were_read() -> None:
    for source in sources().values():
        assert source.title
        assert source.edition
        assert source.read in ("first-hand", "quoted", "own")
