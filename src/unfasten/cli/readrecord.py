"""Reading a record for a command: findings go to stderr, or as JSON to stdout, and errors end with status 1."""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from unfasten.record.record import Record


def read_or_exit(path: Path, *, as_json: bool = False) -> Record:
    """Give the record, or show every error and exit with status 1."""
    from unfasten.service.load import read_findings

    record, findings = read_findings(path)
    if record is not None:
        return record
    errors = [finding for finding in findings if finding.level == "error"]
    if as_json:
        click.echo(json.dumps({"ok": False, "findings": [f.as_json() for f in findings]}, indent=1, ensure_ascii=False))
    for f in errors if not as_json else ():
        line = f" (line {f.line})" if f.line else ""
        click.echo(f"{path}: {f.at}{line}: {f.message}; {f.remedy} [{f.code}]", err=True)
    if not as_json:
        click.echo(f"{path}: {len(errors)} errors; the record was not used", err=True)
    sys.exit(1)
