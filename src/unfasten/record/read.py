"""Reading a record strictly: every finding at once, each with code, place, line, message and remedy."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any, Final

from unfasten.evidence.datafile import Document, read_data
from unfasten.evidence.place import shown
from unfasten.evidence.problem import Problem
from unfasten.record.finding import Finding
from unfasten.record.names import name_remarks
from unfasten.record.place import Remark, findings, limited, no_line
from unfasten.record.record import Record
from unfasten.record.references import mapping
from unfasten.record.relations import relation_remarks
from unfasten.record.structure import validate

#: most entries of a section; no product comes near, and the time for checks grows with their square
SECTION_LIMIT: Final = 5_000


@dataclass(frozen=True, slots=True)
class Reading:
    """A record, or None with the errors that keep the file from being one. `document` knows the lines."""

    record: Record | None
    findings: tuple[Finding, ...] = ()
    document: Document = field(default_factory=lambda: Document(None))


def read_record(data: bytes, name: str) -> Reading:
    """Read the bytes of a record file (YAML, or JSON by its name `….json` or its first character).

    Never raises on bad data: the reading holds every error, in the order of the file.
    """
    document = read_data(data, name)
    problems = [_finding(problem) for problem in document.problems]
    record, remarks = _remarks(document, bool(problems))
    errors = [*problems, *findings("error", remarks, document.line)]
    errors.sort(key=lambda finding: finding.line or 0)
    return Reading(None if errors else record, limited(errors), document)


def read_tree(tree: Any) -> Reading:
    """Check a plain tree that was not read from a file, by the same rules; findings have no lines."""
    record, remarks = _remarks(Document(tree), False)
    return Reading(None if remarks else record, limited(findings("error", remarks, no_line)))


def _remarks(document: Document, has_problems: bool) -> tuple[Record | None, list[Remark]]:
    tree = document.value
    if not isinstance(tree, dict):
        if has_problems:
            return None, []
        message = f"the file holds {shown(tree)}, where a mapping of keys is wanted"
        return None, [Remark((), "record.wrong-type", message, "begin with 'format: unfasten-record/1'")]
    crowded = [
        Remark((section,), "record.too-large", f"more than {SECTION_LIMIT} {section}", "record one product per file")
        for section in ("tools", "parts", "joints", "bundles", "swings", "swap_tests")
        if len(mapping(tree.get(section))) > SECTION_LIMIT
    ]
    if crowded:
        return None, crowded
    record, structure = validate(tree)
    broken = {remark.path for remark in structure}
    return record, structure + [remark for remark in _relations(tree) if remark.path not in broken]


def _relations(tree: Any) -> list[Remark]:
    return [*name_remarks(tree), *relation_remarks(tree)]


def _finding(problem: Problem) -> Finding:
    return findings(
        "error",
        [Remark(problem.path, problem.code, problem.message, problem.remedy)],
        lambda path: problem.line,
    )[0]
