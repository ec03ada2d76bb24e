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
@click.option("--to", metavar="PART", multiple=True, help="This part, with its route; may be given several times.")
@click.option("--together", is_flag=True, help="One route to all the parts named by --to.")
@click.option("--by", type=click.Choice(["steps", "time"]), default="steps", show_default=True, help="What is least.")
@click.option("--budget", type=click.FloatRange(min=0, min_open=True), default=2.0, show_default=True,
              help="Nominal seconds of search per part.")  # fmt: skip
@click.option("--json", "as_json", is_flag=True, help="Print JSON.")
def command(record: Path, to: tuple[str, ...], together: bool, by: str, budget: float, as_json: bool) -> None:
    """Print routes."""
    from unfasten.cli.readrecord import read_or_exit
    from unfasten.service.routes import reach_of, reach_together, routes_json

    model = read_or_exit(record, as_json=as_json)
    objective = cast(Literal["steps", "time"], by)
    if together and not to:
        raise click.UsageError("--together needs the parts: name each with --to PART")
    reaches = reach_together(model, to, objective, budget) if together else reach_of(model, objective, to, budget)
    if as_json:
        click.echo(json.dumps(routes_json(model, reaches, objective), indent=1, ensure_ascii=False))
        return
    from unfasten.cli.routetable import route_lines, table_lines

    lines = [] if to else table_lines(model, reaches, by)
    for reach in reaches.values() if to else ():
        lines += [*route_lines(model, reach), ""]
    click.echo("\n".join(lines))
