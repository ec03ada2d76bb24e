"""Requirements and label quantities of a record: hands its facts, and what comes out under a limit, to the rules."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date

from unfasten.record.part import Part
from unfasten.record.record import Record
from unfasten.record.swapfact import SwapFact, swap_facts
from unfasten.rules.case import Case, Subject
from unfasten.rules.decide import Decision, Label, decide, measure
from unfasten.rules.library import Head, heads, label_set, requirement_set
from unfasten.service.passage import Passages

__all__ = ["Decision", "Label", "case_of", "label", "requirements", "rule_sets"]

DEFAULT_REQUIREMENTS = "eu-2023-1670"
DEFAULT_LABEL = "eu-2023-1669-label"
_NO_NAME = (None, "other")


def requirements(
    record: Record, on: date, ruleset: str = DEFAULT_REQUIREMENTS, readings: Mapping[str, str] | None = None
) -> Decision:
    """Judge a record under a set of requirements on a day.

    Raises `CallError` for an unknown rule set, one of another kind, an unknown reading or option.
    """
    return decide(requirement_set(ruleset), case_of(record), on, readings)


def label(record: Record, on: date, ruleset: str = DEFAULT_LABEL, readings: Mapping[str, str] | None = None) -> Label:
    """Compute the label quantities of a record on a day; raises as `requirements` does."""
    return measure(label_set(ruleset), case_of(record), on, readings)


def rule_sets() -> tuple[Head, ...]:
    """Every rule set by id, those that are only planned too."""
    return heads()


def case_of(record: Record) -> Case:
    """The facts that requirements judge: parts with a role or kind, supply, tests, and ways out."""
    swaps = swap_facts(record)
    subjects = tuple(
        _subject(name, part, str(named), swaps.get(name))
        for name, part in record.parts.items()
        for named in (part.role, part.kind)
        if named not in _NO_NAME
    )
    batteries = [(name, part) for name, part in record.parts.items() if part.role == "battery"]
    battery = next((part.battery for _, part in batteries if part.battery), None)
    masses = [(f"parts.{name}.mass", part.mass) for name, part in batteries] + [("product.mass", record.product.mass)]
    return Case(
        record.product.category,
        subjects,
        record.supply,
        record.tests,
        battery,
        tuple((at, mass) for at, mass in masses if mass is not None),
        Passages(record),
        record.product.released,
    )


def _subject(name: str, part: Part, named: str, swap: SwapFact | None) -> Subject:
    """What is seen on the bench in a swap test outranks what the record lists; no entry at all is not known.

    Pairing that is surely needed is given even where more may be needed.
    """
    found = swap.pairing if swap else None
    pairing = found.least if found and (found.least or found.basis == "tested") else None
    return Subject(
        name,
        named,
        part.name,
        pairing,
        "measured" if found and found.basis != "listed" else "seen",
        tuple(swap.cells.items()) if swap else (),
        part.replacing.environment,
        part.replacing.skill,
    )
