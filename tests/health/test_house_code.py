"""House rules that a linter does not check: size, imports, clocks, docstrings."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
SOURCE = ROOT / "src" / "unfasten"
FILES = sorted(SOURCE.rglob("*.py"))
TREES = {path: ast.parse(path.read_text("utf-8")) for path in FILES}
LONGEST = 400
#: rooms that take day, seed and clock as arguments
BELOW_SERVICE = ("evidence", "record", "routes", "rules", "battery", "effort", "store", "report")
CLOCKS = {
    "today",
    "now",
    "utcnow",
    "time",
    "monotonic",
    "perf_counter",
    "getenv",
    "environ",
    "random",
    "uuid4",
    "uuid1",
}


def name_of(path: Path) -> str:
    """Path as seen from the checkout."""
    return str(path.relative_to(ROOT))


def test_no_file_is_too_long() -> None:
    every = [*FILES, *ROOT.glob("tests/**/*.py"), *ROOT.glob("benchmarks/*.py"), *SOURCE.rglob("*.js")]
    long = {name_of(path): lines for path in every if (lines := len(path.read_text("utf-8").splitlines())) > LONGEST}
    assert not long


@pytest.mark.parametrize("path", FILES, ids=name_of)
def test_file_keeps_the_house_rules(path: Path) -> None:
    wrong = [f"line {node.lineno}: {what}" for node in ast.walk(TREES[path]) if (what := fault(node, path))]
    assert not wrong


def fault(node: ast.AST, path: Path) -> str | None:
    """What is wrong with a node, if anything."""
    if isinstance(node, ast.ImportFrom) and any(alias.name == "*" for alias in node.names):
        return "star import"
    if isinstance(node, ast.ExceptHandler):
        names = {part.id for part in ast.walk(node.type) if isinstance(part, ast.Name)} if node.type else {"Exception"}
        return "broad except" if names & {"Exception", "BaseException"} else None
    if isinstance(node, ast.Call):
        if isinstance(node.func, ast.Name):
            return "print" if node.func.id == "print" else None
        called = node.func.attr if isinstance(node.func, ast.Attribute) else ""
        if called in CLOCKS and path.relative_to(SOURCE).parts[0] in BELOW_SERVICE:
            return f"{called}(): take it as an argument"
    return None


@pytest.mark.parametrize("path", FILES, ids=name_of)
def test_what_is_public_says_what_it_does(path: Path) -> None:
    tree = TREES[path]
    silent = [] if ast.get_docstring(tree) else ["the module"]
    kinds = (ast.FunctionDef, ast.AsyncFunctionDef, ast.ClassDef)
    classes = [node for node in tree.body if isinstance(node, ast.ClassDef) and not node.name.startswith("_")]
    for owner in (tree, *classes):
        public = [node for node in owner.body if isinstance(node, kinds) and not node.name.startswith("_")]
        silent += [node.name for node in public if not ast.get_docstring(node)]
    assert not silent
