"""Loading a record from a file: strictly, with every finding, or not at all."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from unfasten.evidence.errors import DataError
from unfasten.evidence.filebytes import read_limited
from unfasten.record.finding import Finding
from unfasten.record.record import Record


class RecordInvalid(DataError):  # noqa: N818 - names the outcome
    """The file holds no valid record; `findings` are all its errors and warnings."""

    def __init__(self, name: str, findings: Sequence[Finding]) -> None:
        self.findings = tuple(findings)
        errors = [finding for finding in self.findings if finding.level == "error"]
        count = f"{len(errors)} error{'' if len(errors) == 1 else 's'}"
        super().__init__("record.invalid", name, count, f"mend what 'unfasten check {name}' lists")

    def __str__(self) -> str:
        """List every error, and below them the sentence that counts them."""
        errors = (f"  {finding}" for finding in self.findings if finding.level == "error")
        return "\n".join([f"{self.where} holds no valid record:", *errors, super().__str__()])

    def as_json(self) -> dict[str, object]:
        """Give the JSON error shape with all findings."""
        return super().as_json() | {"findings": [finding.as_json() for finding in self.findings]}


def load_record(path: Path) -> Record:
    """Read a record file; raise `RecordInvalid` with every finding, or `CallError` where there is no such file."""
    record, findings = read_findings(path)
    if record is None:
        raise RecordInvalid(_name(path), findings)
    return record


def read_findings(path: Path) -> tuple[Record | None, tuple[Finding, ...]]:
    """Read a record file: the record, None if it has errors, and every finding, errors first.

    Raises `CallError` where there is no such file.
    """
    from unfasten.record.check import check_record
    from unfasten.record.read import read_record

    reading = read_record(read_limited(path), path.name)
    if reading.record is None:
        return None, reading.findings
    return reading.record, reading.findings + check_record(reading.record, reading.document.line)


def _name(path: Path) -> str:
    return str(path).encode("utf-8", "replace").decode("utf-8")
