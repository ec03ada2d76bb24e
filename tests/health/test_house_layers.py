"""Imports go down only: the contracts of pyproject.toml, read from there and checked without the linter."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import grimp
import pytest

ROOT = Path(__file__).parents[2]
CONTRACTS: list[dict[str, Any]] = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["tool"]["importlinter"][
    "contracts"
]
LAYERS = [
    [room.strip(" ()") for room in line.split("|")]
    for contract in CONTRACTS
    if contract["type"] == "layers"
    for line in contract["layers"]
]


@pytest.fixture(scope="module")
def graph() -> grimp.ImportGraph:
    """All imports of the package, those inside functions too."""
    return grimp.build_graph("unfasten", cache_dir=None)


def test_every_room_has_its_place(graph: grimp.ImportGraph) -> None:
    rooms = {child.removeprefix("unfasten.") for child in graph.find_children("unfasten")}
    assert rooms <= {room for line in LAYERS for room in line}


def test_imports_go_down_only(graph: grimp.ImportGraph) -> None:
    layers = [grimp.Layer(*line, independent=True) for line in LAYERS]
    found = graph.find_illegal_dependencies_for_layers(layers=layers, containers={"unfasten"})
    assert not [f"{dependency.importer} imports {dependency.imported}" for dependency in found]


def test_help_needs_no_heavy_library(graph: grimp.ImportGraph) -> None:
    """What `unfasten --help` imports at the top of its modules is the main module and the errors."""
    import subprocess
    import sys

    code = (
        "import sys; from unfasten.cli.main import cli\n"
        "try: cli(['--help'], standalone_mode=False)\n"
        "finally: print(sorted({m.split('.')[0] for m in sys.modules} & set(sys.argv[1:])), file=sys.stderr)"
    )
    heavy = ["pydantic", "rich", "sqlalchemy", "typst", "jinja2", "yaml"]
    done = subprocess.run([sys.executable, "-c", code, *heavy], capture_output=True, text=True, check=True)
    assert done.stderr.strip() == "[]"
