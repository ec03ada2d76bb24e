"""Checking a valid record for what is missing, contradictory or odd: warnings, never errors."""

from __future__ import annotations

from unfasten.record.completeness import completeness_remarks
from unfasten.record.contradiction import contradiction_remarks
from unfasten.record.finding import Finding
from unfasten.record.oddity import oddity_remarks
from unfasten.record.place import LineOf, findings, limited, no_line
from unfasten.record.record import Record
from unfasten.record.swapcheck import swap_remarks


def check_record(record: Record, line_of: LineOf = no_line) -> tuple[Finding, ...]:
    """Give every warning about a record, in the order of its file (`line_of` tells the line of a path)."""
    remarks = [
        *completeness_remarks(record),
        *oddity_remarks(record),
        *contradiction_remarks(record),
        *swap_remarks(record),
    ]
    return limited(sorted(findings("warning", remarks, line_of), key=lambda finding: finding.line or 0))
