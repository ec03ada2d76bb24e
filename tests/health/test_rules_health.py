"""House rules of rule sets: no number in code, every figure cited and used, every reading written up."""

from __future__ import annotations

import ast
import re
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest

from support.hand_product import DAY, piece, product, route, take, undo
from unfasten.evidence.checkvalue import Check, load_checks
from unfasten.evidence.cite import sources
from unfasten.evidence.parameter import Law, numbers_in
from unfasten.rules.handcase import hand_case
from unfasten.rules.library import (
    SETS,
    Edition,
    LabelSet,
    RequirementSet,
    RuleSet,
    edition,
    heads,
    ids_of,
    label_set,
    requirement_set,
)
from unfasten.rules.readings import choose
from unfasten.service.verify import check_files

ROOT = Path(__file__).parents[2]
RULE_FILES = sorted(SETS.rglob("*.py"))
ALLOWED = {0, 1, -1, 2}
#: parameters of the index itself, which no criterion asks for
OF_THE_INDEX = {"index.weights", "index.decimals", "class.limits"}


READ = {"index": edition, "requirements": requirement_set, "label": label_set}
EVERY = [READ[kind](name) for kind in READ for name in ids_of(kind)]
#: places in the law that a clause may begin with
PLACES = ("Annex", "Article")


@pytest.fixture(params=ids_of("index"))
def rules(request: pytest.FixtureRequest) -> Edition:
    return edition(request.param)


@pytest.fixture(params=EVERY, ids=lambda rules: rules.id)
def any_rules(request: pytest.FixtureRequest) -> RuleSet:
    found: RuleSet = request.param
    return found


def parts_of(rules: RuleSet) -> tuple[Any, ...]:
    """Criteria, requirements or quantities."""
    if isinstance(rules, Edition):
        return rules.criteria
    return rules.requirements if isinstance(rules, RequirementSet) else rules.quantities  # type: ignore[attr-defined, no-any-return]


@pytest.mark.parametrize("path", RULE_FILES, ids=lambda path: path.name)
def test_no_number_stands_in_the_code_of_a_rule(path: Path) -> None:
    numbers = [
        (node.lineno, node.value)
        for node in ast.walk(ast.parse(path.read_text("utf-8")))
        if isinstance(node, ast.Constant) and isinstance(node.value, int | float | complex)
        if not isinstance(node.value, bool) and node.value not in ALLOWED
    ]
    assert numbers == []


def test_every_parameter_is_cited_with_unit_meaning_and_range(any_rules: RuleSet) -> None:
    for parameter in any_rules.parameters.values():
        assert parameter.unit, parameter.id
        assert parameter.meaning, parameter.id
        assert parameter.range[0] < parameter.range[1], parameter.id
        for figure in parameter.history:
            assert figure.cite.doc in sources()
            assert figure.cite.at
            assert figure.since >= any_rules.since
            assert list(numbers_in(figure.value)) or figure.value, parameter.id


def test_every_parameter_is_used_and_every_use_declared(any_rules: RuleSet) -> None:
    needed = {name for part in parts_of(any_rules) for name in part.needs}
    more = OF_THE_INDEX if isinstance(any_rules, Edition) else set()
    assert needed | more == set(any_rules.parameters)


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


def test_a_requirement_or_quantity_asks_only_for_what_it_declares(any_rules: RuleSet) -> None:
    if isinstance(any_rules, Edition):
        return
    cases = [hand_case(check.given) for check in checks_of(any_rules)]
    options = [choose(any_rules.readings, {}), *others(any_rules)]
    for part in parts_of(any_rules):
        asked: set[str] = set()
        for case in cases:
            for chosen in options:
                law = Law(any_rules.parameters, any_rules.since)
                part.judge(case, law, chosen)
                asked |= law.asked
        assert asked == set(part.needs), part.id


def others(rules: RuleSet) -> list[dict[str, str]]:
    """Every choice of readings that differs from the default in one."""
    return [
        choose(rules.readings, {name: option})
        for name, reading in rules.readings.items()
        for option in reading.options
        if option != reading.default
    ]


def checks_of(rules: RuleSet) -> list[Check]:
    """The check values of a rule set."""
    return [check for path in check_files() for check in load_checks(path) if check.model.startswith(f"{rules.id}.")]


def test_every_part_has_a_clause_and_a_check_value(any_rules: RuleSet) -> None:
    figures = {value.name.split(".")[0] for check in checks_of(any_rules) for value in check.expect}
    for part in parts_of(any_rules):
        assert part.clause.startswith(PLACES), part.id
        assert part.id in figures, part.id


def test_every_requirement_has_a_check_of_each_verdict_it_can_give() -> None:
    """Figures of the whole product always apply, and what is not known of phones is known of no tablet."""
    always = {"parts-for-years", "parts-not-bundled", "delivery", "prices", "response", "update-years"}
    always |= {"battery-endurance", "falls", "scratch", "water"}
    for name in ids_of("requirements"):
        rules = requirement_set(name)
        found: dict[str, set[str]] = {}
        for check in checks_of(rules):
            for value in check.expect:
                found.setdefault(value.name, set()).add(value.printed)
        for part in rules.requirements:
            expected = {"met", "not met", "unknown"} | ({"does not apply"} if part.id not in always else set())
            assert found[part.id] == expected, part.id


def test_a_planned_rule_set_says_why_and_holds_no_figure() -> None:
    planned = [head for head in heads() if not isinstance(head, RuleSet)]
    assert [head.id for head in planned] == ["fr-2020-1757"]
    for head in planned:
        assert head.status == "planned"
        assert head.not_coded
        (folder,) = [
            path.parent for path in SETS.rglob("ruleset.yaml") if f"id: {head.id}\n" in path.read_text("utf-8")
        ]
        assert sorted(path.name for path in folder.iterdir() if path.suffix) == ["__init__.py", "ruleset.yaml"]


def test_the_label_is_among_the_sets() -> None:
    assert [type(rules) for rules in EVERY].count(LabelSet) == 1


def test_weights_sum_to_one(rules: Edition) -> None:
    for name in ("index.weights", "parts.weights", "parts.weights_foldable"):
        assert sum(rules.parameters[name].on(DAY).table.values()) == 1, name


def test_tables_of_bands_leave_no_gap(rules: Edition) -> None:
    for name in ("depth.points", "class.limits", "updates.points"):
        starts = [row["at_least"] for row in rules.parameters[name].on(DAY).rows]
        assert len(set(starts)) == len(starts), name
        assert starts in (sorted(starts), sorted(starts, reverse=True)), name  # type: ignore[type-var]


def test_figures_not_checked_for_a_year_are_listed(any_rules: RuleSet) -> None:
    """A warning only: on the day of a release someone looks at these again."""
    old = [p.id for p in any_rules.parameters.values() if date.today() - p.still_valid_on > timedelta(days=366)]
    if old:
        print(f"not checked for a year: {', '.join(old)}")
    checked = min(any_rules.since, date(2025, 7, 31))
    assert all(p.still_valid_on >= checked for p in any_rules.parameters.values())


def test_no_doubtful_figure_is_coded_as_law(any_rules: RuleSet) -> None:
    assert {parameter.confidence[0] for parameter in any_rules.parameters.values()} == {"L"}


def test_readings_are_written_up(any_rules: RuleSet) -> None:
    page = (ROOT / "docs" / "readings.md").read_text("utf-8")
    section = page.split(f"\n## {any_rules.id}\n")[1].split("\n## ")[0]
    written = re.findall(r"^### `([a-z-]+)`$", section, re.MULTILINE)
    assert written == list(any_rules.readings)
    for block, reading in zip(section.split("\n### ")[1:], any_rules.readings.values(), strict=True):
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
