"""Every field of a context has help, is documented, is provided and is used by some rendering."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import fields, is_dataclass
from pathlib import Path
from typing import Any

import pytest

from support.report_record import bench_report
from unfasten.report.html import environment
from unfasten.report.model.fields import contexts, field_table, helps
from unfasten.report.model.report import Report
from unfasten.report.pdf import TEMPLATES

ROOT = Path(__file__).parents[3]
TYPST = "\n".join(path.read_text("utf-8") for path in sorted(TEMPLATES.glob("*.typ")))
FIGURES = "\n".join(path.read_text("utf-8") for path in sorted((TEMPLATES.parent / "figures").glob("*.py")))


class Watched:
    """A context that notes which fields of which class a template reads."""

    def __init__(self, inner: Any, read: set[tuple[str, str]]) -> None:
        self._inner, self._read = inner, read

    def __getattr__(self, name: str) -> Any:
        self._read.add((type(self._inner).__name__, name))
        return watched(getattr(self._inner, name), self._read)


def watched(value: Any, read: set[tuple[str, str]]) -> Any:
    if is_dataclass(value):
        return Watched(value, read)
    return tuple(watched(item, read) for item in value) if isinstance(value, tuple) else value


@pytest.fixture(scope="module")
def read_by_html() -> set[tuple[str, str]]:
    """Fields that the HTML templates and the figures read, over reports that show every branch."""
    read: set[tuple[str, str]] = set()
    template = environment().get_template("report.html.j2")
    for report in (bench_report(), bench_report("swollen")):
        template.render(report=watched(report, read))
    return read


@pytest.mark.parametrize("context", contexts(Report), ids=lambda context: context.__name__)
def test_every_field_has_help(context: type) -> None:
    assert [name for name, text in helps(context).items() if len(text) < 4] == []


def provided() -> Iterator[tuple[str, str]]:
    for context in contexts(Report):
        yield from ((context.__name__, item.name) for item in fields(context))


def test_templates_use_every_field_and_no_other(read_by_html: set[tuple[str, str]]) -> None:
    assert read_by_html - set(provided()) == set()
    assert set(provided()) - read_by_html == set()


def test_print_templates_name_only_fields_that_are_provided() -> None:
    names = {name for _, name in provided()} | {"figures", "squares", "band", "depth", "structure", "small", "lines"}
    named = set(re.findall(r"\b(?:d|s|t|d\.\w+|row|item|sheet|key|node|group)\.([a-z_]+)\b(?!\()", TYPST))
    builtin = {"typ", "map", "enumerate", "len", "named", "pos", "at", "flatten", "inputs", "rows"}
    assert named - names - builtin == set()


@pytest.mark.parametrize(("context", "name"), list(provided()))
def test_print_shows_every_field(context: str, name: str) -> None:
    only_on_screen = {
        ("Node", "part"), ("Node", "name"), ("Node", "steps"), ("Node", "priority"), ("Node", "fixed"),
        ("FastenerRow", "joint"), ("ToolRow", "tool"), ("ScoreNode", "id"), ("Procedure", "part"),
    }  # fmt: skip
    assert re.search(rf"\.{name}\b", TYPST + FIGURES) or (context, name) in only_on_screen


def test_fields_are_documented() -> None:
    assert field_table(Report).strip() in (ROOT / "docs" / "report.md").read_text("utf-8")
