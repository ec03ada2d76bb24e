"""The library of rule sets: finds, reads and checks an edition under `sets/`."""

from __future__ import annotations

import importlib
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date
from functools import cache
from pathlib import Path
from typing import Any, Final, TypeVar

from unfasten.evidence.cite import Cite, check_cite
from unfasten.evidence.errors import CallError
from unfasten.evidence.fields import Fields, Sheaf, open_file, unknown_remedy
from unfasten.evidence.interval import Interval
from unfasten.evidence.parameter import Law, Parameter, load_parameters
from unfasten.rules.criterion import Criterion, Grade, Readings
from unfasten.rules.node import Node
from unfasten.rules.quantity import Quantity
from unfasten.rules.readings import Reading, read_reading
from unfasten.rules.requirement import Requirement

SETS: Final = Path(__file__).parent / "sets"
#: kind of rule set -> (key with its ids, command that shows it)
KINDS: Final = {
    "index": ("criteria", "index"),
    "requirements": ("requirements", "requirements"),
    "label": ("quantities", "label"),
}
_KEYS: Final = (
    "id", "kind", "title", "source", "in_force", "status", "note", "not_coded", "categories", "readings",
    *(key for key, _ in KINDS.values()),
)  # fmt: skip
_STATES: Final = ("complete", "partial", "planned")


@dataclass(frozen=True)
class Head:
    """What a rule set is about. `not_coded` says what of the law is left out, and why."""

    id: str
    kind: str
    title: str
    source: str
    status: str
    note: str | None
    not_coded: tuple[str, ...]

    def as_json(self) -> dict[str, object]:
        """Give the JSON form."""
        return {
            "id": self.id,
            "kind": self.kind,
            "title": self.title,
            "source": self.source,
            "status": self.status,
            "note": self.note,
            "not_coded": list(self.not_coded),
        }


@dataclass(frozen=True)
class RuleSet(Head):
    """A rule set that can be used: what it covers and since when, its figures and open readings."""

    since: date
    until: date | None
    categories: tuple[str, ...]
    readings: Mapping[str, Reading]
    parameters: Mapping[str, Parameter]

    def as_json(self) -> dict[str, object]:
        """Give the JSON form."""
        days = {"from": self.since.isoformat(), "to": self.until.isoformat() if self.until else None}
        return {**super().as_json(), **days, "categories": list(self.categories)}

    def why_not(self, category: str, on: date) -> str | None:
        """Say why the rules do not apply to a category on a day; None if they do."""
        if category not in self.categories:
            return f"the rules cover {', '.join(self.categories)}; this product's category is {category}"
        if on < self.since:
            return f"not yet in force on {on}; the rules apply from {self.since}"
        if self.until is not None and on > self.until:
            return f"no longer in force on {on}; the rules applied until {self.until}"
        return None


@dataclass(frozen=True)
class Edition(RuleSet):
    """One edition of an index: its criteria, and how they make the index and its class."""

    criteria: tuple[Criterion, ...]
    index: Callable[[Mapping[str, Node], Law], Node]
    grade: Callable[[Interval, Law, Readings], Grade]


@dataclass(frozen=True)
class RequirementSet(RuleSet):
    """One edition of a set of requirements, each with a verdict."""

    requirements: tuple[Requirement, ...]


@dataclass(frozen=True)
class LabelSet(RuleSet):
    """One edition of the quantities of a label, from test figures."""

    quantities: tuple[Quantity, ...]


_S = TypeVar("_S", bound=RuleSet)


def edition(name: str) -> Edition:
    """Read the index of this id.

    Raises `CallError` for an unknown id, another kind or a planned set, `InvalidFileError` if a file has errors.
    """
    return _of_kind(name, Edition, "index")


def requirement_set(name: str) -> RequirementSet:
    """Read the set of requirements of this id; raises as `edition` does."""
    return _of_kind(name, RequirementSet, "requirements")


def label_set(name: str) -> LabelSet:
    """Read the label of this id; raises as `edition` does."""
    return _of_kind(name, LabelSet, "label")


def heads() -> tuple[Head, ...]:
    """Every rule set by id, those that are only planned too."""
    return tuple(_read(folder) for folder in folders().values())


def ids_of(kind: str) -> tuple[str, ...]:
    """Ids of the rule sets of a kind that can be used."""
    return tuple(head.id for head in heads() if head.kind == kind and isinstance(head, RuleSet))


def _of_kind(name: str, wanted: type[_S], kind: str) -> _S:
    found = folders()
    if name not in found:
        raise CallError("rules.unknown", "--rules", f'no rule set "{name}"', unknown_remedy(name, ids_of(kind)))
    rules = _read(found[name])
    if isinstance(rules, wanted):
        return rules
    if rules.status == "planned":
        message = f"{name} is planned, not coded: {'; '.join(rules.not_coded)}"
        raise CallError("rules.planned", "--rules", message, f"use one of {', '.join(ids_of(kind))}")
    remedy = f"run 'unfasten {KINDS[rules.kind][1]}' for it, or use one of {', '.join(ids_of(kind))}"
    raise CallError("rules.other-kind", "--rules", f"{name} is a rule set of the kind {rules.kind}", remedy)


@cache
def folders() -> dict[str, Path]:
    """The folder of every rule set by its id, in order of the ids."""
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


@cache
def _read(folder: Path) -> Head:
    data, sheaf = open_file(folder / "ruleset.yaml")
    fields = Fields(data, (), sheaf, _KEYS)
    check_cite(Cite(fields.text("source"), ""), ("source",), sheaf)
    head = {name: fields.text(name) for name in ("id", "title", "source")}
    more = {
        "kind": fields.choice("kind", tuple(KINDS)),
        "status": fields.choice("status", _STATES),
        "note": fields.text_or_none("note"),
        "not_coded": _texts(fields, "not_coded") if fields.has("not_coded") else (),
    }
    if more["status"] == "planned":
        sheaf.close()
        return Head(**head, **more)  # type: ignore[arg-type]
    since, until = _in_force(fields, sheaf)
    readings = [read_reading(item, path, sheaf) for path, item in _optional(fields, "readings")]
    common: dict[str, Any] = {
        **head,
        **more,
        "since": since,
        "until": until,
        "categories": _texts(fields, "categories"),
        "readings": {reading.id: reading for reading in readings},
        "parameters": load_parameters(sorted((folder / "parameters").glob("*.yaml"))),
    }
    out = _with_rules(common, importlib.import_module(module_of(folder, "rules")), fields)
    sheaf.close()
    return out


def _with_rules(common: dict[str, Any], rules: Any, fields: Fields) -> RuleSet:
    """The rule set with what its rules.py defines; the ids in the file must be the same, in the same order."""
    kind = common["kind"] or "index"
    key = KINDS[kind][0]
    defined = getattr(rules, key.upper())
    if list(_texts(fields, key)) != [one.id for one in defined]:
        fields.wrong(key, f"the ids that rules.py defines, in its order: {', '.join(one.id for one in defined)}")
    if kind == "requirements":
        return RequirementSet(**common, requirements=defined)
    if kind == "label":
        return LabelSet(**common, quantities=defined)
    return Edition(**common, criteria=defined, index=rules.INDEX, grade=rules.GRADE)


def _texts(fields: Fields, key: str) -> tuple[str, ...]:
    return tuple(str(item) for _, item in fields.items(key))


def _optional(fields: Fields, key: str) -> list[tuple[Any, object]]:
    return list(fields.items(key)) if fields.has(key) else []


def _in_force(fields: Fields, sheaf: Sheaf) -> tuple[date, date | None]:
    span = Fields(fields.data.get("in_force"), ("in_force",), sheaf, ("from", "to"))
    return span.day("from"), span.day_or_none("to")
