"""`unfasten battery`: what a battery's label means, how it sits in its bay, and how it is handled and sent."""

from __future__ import annotations

import json
from datetime import datetime
from pathlib import Path

import click


@click.command(
    "battery", help="Work out what RECORD says of its battery: label, energy, bay, transport class, handling, change."
)
@click.argument("record", type=click.Path(exists=True, dir_okay=False, path_type=Path))
@click.option("--against", metavar="RECORD", type=click.Path(exists=True, dir_okay=False, path_type=Path),
              help="Record of the predecessor: what changed.")  # fmt: skip
@click.option("--on", type=click.DateTime(["%Y-%m-%d"]), metavar="DATE", help="Day of the limits, YYYY-MM-DD [today].")
@click.option("--json", "as_json", is_flag=True, help="Print JSON.")
def command(record: Path, against: Path | None, on: datetime | None, as_json: bool) -> None:
    """Print a sheet for every battery of the record."""
    from unfasten.cli.readrecord import read_or_exit
    from unfasten.service.battery import battery_answers

    model = read_or_exit(record, as_json=as_json)
    older = None if against is None else read_or_exit(against, as_json=as_json)
    answers = battery_answers(model, (on or datetime.now()).date(), older)
    if as_json:
        told = {"batteries": [answer.as_json() for answer in answers]}
        click.echo(json.dumps(told, indent=1, ensure_ascii=False))
        return
    from unfasten.cli.batterytable import sheet_lines

    click.echo("\n\n".join("\n".join(sheet_lines(answer)) for answer in answers))
