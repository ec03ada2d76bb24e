"""`unfasten report`: the report of a record as one HTML file and one PDF."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import click


@click.command("report")
@click.argument("record", type=click.Path(exists=True, dir_okay=False, path_type=Path))
@click.option("-o", "--out", type=click.Path(file_okay=False, path_type=Path), required=True, metavar="DIR",
              help="Folder to write into; made if it is missing.")  # fmt: skip
@click.option("--on", type=click.DateTime(["%Y-%m-%d"]), metavar="DATE",
              help="Day of the rules and the report, YYYY-MM-DD [today].")  # fmt: skip
def command(record: Path, out: Path, on: datetime | None) -> None:
    """Write the report of RECORD into a folder, as one HTML file and one PDF, both or none."""
    from unfasten.cli.readrecord import read_or_exit
    from unfasten.service.report import write_report

    for path in write_report(read_or_exit(record), out, (on or datetime.now()).date()):
        click.echo(str(path))
