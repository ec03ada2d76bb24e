"""Every test file is collected, and every skip says why."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
TESTS = ROOT / "tests"
FILES = sorted(TESTS.rglob("*.py"))


def has_tests(path: Path) -> bool:
    """Tell whether a file defines tests."""
    tree = ast.parse(path.read_text("utf-8"))
    return any(isinstance(node, ast.FunctionDef) and node.name.startswith("test") for node in ast.walk(tree))


def test_every_file_with_tests_has_a_name_that_is_collected() -> None:
    assert [str(path) for path in FILES if has_tests(path) and not path.name.startswith("test_")] == []


def test_every_file_named_as_a_test_has_tests_and_a_name_of_its_own() -> None:
    named = [path for path in FILES if path.name.startswith("test_")]
    assert [str(path) for path in named if not has_tests(path)] == []
    assert len({path.name for path in named}) == len(named)


def test_a_whole_run_collects_every_file(request: pytest.FixtureRequest) -> None:
    config = request.config
    partial = config.option.keyword or config.option.markexpr or config.args_source.name != "TESTPATHS"
    collected = {item.path for item in request.session.items}
    wanted = {Path(__file__)} if partial else {path for path in FILES if path.name.startswith("test_")}
    assert wanted - collected == set()


def test_every_skip_says_why() -> None:
    bare = [
        f"{path.name}:{node.lineno}"
        for path in FILES
        for node in ast.walk(ast.parse(path.read_text("utf-8")))
        if isinstance(node, ast.Call | ast.FunctionDef) and skips_without_reason(node)
    ]
    assert bare == []


def skips_without_reason(node: ast.Call | ast.FunctionDef) -> bool:
    """Tell whether a call or a decorator skips a test and does not say why."""
    if isinstance(node, ast.FunctionDef):
        return any(isinstance(mark, ast.Attribute) and mark.attr in ("skip", "xfail") for mark in node.decorator_list)
    called = node.func.attr if isinstance(node.func, ast.Attribute) else ""
    says = bool(node.args) or any(keyword.arg == "reason" for keyword in node.keywords)
    if called == "skipif":
        says = any(keyword.arg == "reason" for keyword in node.keywords)
    return called in ("skip", "skipif", "xfail") and not says
