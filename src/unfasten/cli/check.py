"""`unfasten check`: read a record strictly and list every finding."""

from __future__ import annotations

import json
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from unfasten.record.finding import Finding


@click.command("check")
@click.argument("record", type=click.Path(path_type=Path))
@click.option("--json", "as_json", is_flag=True, help="Print the findings as JSON.")
def command(record: Path, as_json: bool) -> None:
    """Read RECORD strictly and list every finding, errors first.

    Exit status: 0 no errors, 1 the record has errors, 2 there is no such file.
    """
    from unfasten.service.load import read_findings

    valid, findings = read_findings(record)
    if as_json:
        answer = {"ok": valid is not None, "findings": [finding.as_json() for finding in findings]}
        click.echo(json.dumps(answer, indent=2, ensure_ascii=False))
    else:
        _show(record, findings, failed=valid is None)
    sys.exit(0 if valid is not None else 1)


def _show(record: Path, findings: Sequence[Finding], *, failed: bool) -> None:
    """List the findings and count them: on stderr if the record has errors."""
    for finding in findings:
        click.echo(f"{finding.level:<8} {finding}", err=failed)
    errors = sum(finding.level == "error" for finding in findings)
    counted = f"{_count(errors, 'error')}, {_count(len(findings) - errors, 'warning')}"
    click.echo(f"{click.format_filename(record)}: {counted}", err=failed)


def _count(number: int, noun: str) -> str:
    return f"{number or 'no'} {noun}{'' if number == 1 else 's'}"
