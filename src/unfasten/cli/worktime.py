"""`unfasten worktime`: predicted work times beside the record's own and the log's."""

from __future__ import annotations

import json
from pathlib import Path

import click


@click.command("worktime", help="Predict the work times of RECORD's ways, and compare with the times of its log.")
@click.argument("record", type=click.Path(exists=True, dir_okay=False, path_type=Path))
@click.option("--to", metavar="PART", help="Only the ways on the shortest route to this part, with the route's time.")
@click.option("--data", metavar="FILE", type=click.Path(exists=True, dir_okay=False, path_type=Path),
              help="Tables of your own; entries replace the shipped ones.")  # fmt: skip
@click.option("--model", type=click.Choice(["sequences", "worksheet"]), default="sequences", show_default=True,
              help="How times are predicted.")  # fmt: skip
@click.option("--json", "as_json", is_flag=True, help="Print JSON.")
def command(record: Path, to: str | None, data: Path | None, model: str, as_json: bool) -> None:
    """Print predicted times with their sequences written out."""
    from unfasten.cli.readrecord import read_or_exit
    from unfasten.service.effort import work_times

    answer = work_times(read_or_exit(record, as_json=as_json), to, data, model)
    if as_json:
        click.echo(json.dumps(answer.as_json(), indent=1, ensure_ascii=False))
        return
    from unfasten.cli.worktimetable import worktime_lines

    click.echo("\n".join(worktime_lines(answer)))
