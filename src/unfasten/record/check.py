"""Checking a valid record for what is missing, contradictory or odd: warnings, never errors."""

from __future__ import annotations

from unfasten.record.finding import Finding
from unfasten.record.place import LineOf, no_line
from unfasten.record.record import Record


def check_record(record: Record, line_of: LineOf = no_line) -> tuple[Finding, ...]:
    """Give every warning about a record, in the order of the file."""
    return ()
