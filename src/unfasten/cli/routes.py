"""`unfasten routes`: the shortest route to every part, or to one."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING, Literal, cast

import click

if TYPE_CHECKING:
    pass


@click.command(
    "routes", help="Find the shortest route to every part of RECORD, proven; both bounds where covers are open."
)
@click.argument("record", type=click.Path(exists=True, dir_okay=False, path_type=Path))
@click.option("--to", metavar="PART", help="One part only, with its route action by action.")
@click.option("--by", type=click.Choice(["steps", "time"]), default="steps", show_default=True, help="What is least.")
@click.option("--budget", type=click.FloatRange(min=0, min_open=True), default=2.0, show_default=True,
              help="Nominal seconds of search per part.")  # fmt: skip
@click.option("--json", "as_json", is_flag=True, help="Print JSON.")
def command(record: Path, to: str | None, by: str, budget: float, as_json: bool) -> None:
    """Print routes."""
    from unfasten.cli.readrecord import read_or_exit
    from unfasten.service.routes import reach_of, routes_json

    model = read_or_exit(record, as_json=as_json)
    objective = cast(Literal["steps", "time"], by)
    reaches = reach_of(model, objective, to, budget)
    if as_json:
        click.echo(json.dumps(routes_json(reaches, objective), indent=1, ensure_ascii=False))
        return
    from unfasten.cli.routetable import route_lines, table_lines

    lines = table_lines(model, reaches, by) if to is None else route_lines(model, reaches[to])
    click.echo("\n".join(lines))
