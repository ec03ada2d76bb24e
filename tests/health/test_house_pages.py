"""Pages made from the program are current; every command, code and key is in them, with a meaning."""

from __future__ import annotations

import importlib.util
import typing
from pathlib import Path
from types import ModuleType

import pytest
import yaml
from pydantic import BaseModel

from unfasten.cli.main import COMMANDS
from unfasten.record.record import Record

ROOT = Path(__file__).parents[2]


@pytest.fixture(scope="module")
def pages() -> ModuleType:
    """The script that makes the pages."""
    spec = importlib.util.spec_from_file_location("make_pages", ROOT / "docs" / "make_pages.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_pages_are_current(pages: ModuleType) -> None:
    assert pages.outdated() == [], "run make docs"


def test_every_command_is_documented() -> None:
    page = (ROOT / "docs" / "cli.md").read_text("utf-8")
    assert [name for name in COMMANDS if f"## unfasten {name}\n" not in page] == []


def test_every_code_has_a_meaning_and_every_meaning_a_code(pages: ModuleType) -> None:
    raised, meant = set(pages.codes()), set(pages.meanings())
    assert raised - meant == set(), "add a line to docs/errors.yaml, then run make docs"
    assert meant - raised == set(), "no code in src says this any more"


def test_every_family_of_codes_is_known(pages: ModuleType) -> None:
    assert pages.strange_codes() == []


def keys_of(kind: object, seen: set[object]) -> set[str]:
    """Keys that a record's nouns have in a file."""
    if isinstance(kind, type) and issubclass(kind, BaseModel):
        if kind in seen:
            return set()
        seen.add(kind)
        inner = [keys_of(field.annotation, seen) for field in kind.model_fields.values()]
        return {field.alias or name for name, field in kind.model_fields.items()}.union(*inner)
    return set().union(*(keys_of(part, seen) for part in typing.get_args(kind)))


def test_every_key_of_a_record_is_among_the_names() -> None:
    names = yaml.safe_load((ROOT / "src" / "unfasten" / "names.yaml").read_text("utf-8"))
    assert keys_of(Record, set()) - set(names) == set()
    assert [name for name, entry in names.items() if not entry.get("meaning") or set(entry) - {"meaning", "unit"}] == []
