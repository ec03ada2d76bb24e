"""The library of rule sets: finds, reads and checks an edition under `sets/`."""

from __future__ import annotations

import importlib
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date
from functools import cache
from pathlib import Path
from typing import Final

from unfasten.evidence.cite import Cite, check_cite
from unfasten.evidence.errors import CallError
from unfasten.evidence.fields import Fields, Sheaf, open_file, unknown_remedy
from unfasten.evidence.interval import Interval
from unfasten.evidence.parameter import Law, Parameter, load_parameters
from unfasten.rules.criterion import Criterion, Grade, Readings
from unfasten.rules.node import Node
from unfasten.rules.readings import Reading, read_reading

SETS: Final = Path(__file__).parent / "sets"
_KEYS: Final = ("id", "title", "source", "in_force", "status", "note", "categories", "criteria", "readings")
_STATES: Final = ("complete", "partial", "planned")


@dataclass(frozen=True)
class Edition:
    """One edition of a rule set: what it covers and since when, its figures, criteria and open readings."""

    id: str
    title: str
    source: str
    since: date
    until: date | None
    status: str
    note: str | None
    categories: tuple[str, ...]
    readings: Mapping[str, Reading]
    parameters: Mapping[str, Parameter]
    criteria: tuple[Criterion, ...]
    index: Callable[[Mapping[str, Node], Law], Node]
    grade: Callable[[Interval, Law, Readings], Grade]

    def why_not(self, category: str, on: date) -> str | None:
        """Say why the rules do not apply to a category on a day; None if they do."""
        if category not in self.categories:
            return f"the rules cover {', '.join(self.categories)}; this product's category is {category}"
        if on < self.since:
            return f"not yet in force on {on}; the rules apply from {self.since}"
        if self.until is not None and on > self.until:
            return f"no longer in force on {on}; the rules applied until {self.until}"
        return None


@cache
def edition(name: str) -> Edition:
    """Read the edition of this id; raises `CallError` for an unknown id, `InvalidFileError` if a file has errors."""
    found = folders()
    if name not in found:
        remedy = unknown_remedy(name, tuple(found))
        raise CallError("rules.unknown", "--rules", f'no rule set "{name}"', remedy)
    return _read(found[name])


@cache
def folders() -> dict[str, Path]:
    """The folder of every edition by its id, in order of the ids."""
    out = {}
    for path in sorted(SETS.glob("*/*/ruleset.yaml")):
        data, sheaf = open_file(path)
        name = Fields(data, (), sheaf, _KEYS).text("id")
        sheaf.close()
        out[name] = path.parent
    return dict(sorted(out.items()))


def module_of(folder: Path, name: str) -> str:
    """Full name of a Python module in an edition's folder."""
    return ".".join(("unfasten", "rules", "sets", *folder.relative_to(SETS).parts, name))


def _read(folder: Path) -> Edition:
    data, sheaf = open_file(folder / "ruleset.yaml")
    fields = Fields(data, (), sheaf, _KEYS)
    since, until = _in_force(fields, sheaf)
    check_cite(Cite(fields.text("source"), ""), ("source",), sheaf)
    readings = [read_reading(item, path, sheaf) for path, item in fields.items("readings")]
    rules = importlib.import_module(module_of(folder, "rules"))
    criteria: tuple[Criterion, ...] = rules.CRITERIA
    listed = [str(item) for _, item in fields.items("criteria")]
    if listed != [criterion.id for criterion in criteria]:
        fields.wrong("criteria", f"the ids that rules.py defines, in its order: {', '.join(c.id for c in criteria)}")
    out = Edition(
        id=fields.text("id"),
        title=fields.text("title"),
        source=fields.text("source"),
        since=since,
        until=until,
        status=fields.choice("status", _STATES),
        note=fields.text_or_none("note"),
        categories=tuple(str(item) for _, item in fields.items("categories")),
        readings={reading.id: reading for reading in readings},
        parameters=load_parameters(sorted((folder / "parameters").glob("*.yaml"))),
        criteria=criteria,
        index=rules.INDEX,
        grade=rules.GRADE,
    )
    sheaf.close()
    return out


def _in_force(fields: Fields, sheaf: Sheaf) -> tuple[date, date | None]:
    span = Fields(fields.data.get("in_force"), ("in_force",), sheaf, ("from", "to"))
    return span.day("from"), span.day_or_none("to")
