"""`unfasten index`: the repair index of a record under a rule set, with every point explained."""

from __future__ import annotations

import json
from collections.abc import Sequence
from datetime import datetime
from pathlib import Path

import click


def _readings(ctx: click.Context, param: click.Parameter, values: Sequence[str]) -> dict[str, str]:
    """Split each NAME=OPTION; a name given twice is refused."""
    out: dict[str, str] = {}
    for value in values:
        name, equals, option = value.partition("=")
        if not (name and equals and option):
            raise click.BadParameter(f"{value!r} is not NAME=OPTION, such as class-rounding=rounded-first", ctx, param)
        if name in out:
            raise click.BadParameter(f"{name} is given twice; keep one", ctx, param)
        out[name] = option
    return out


@click.command("index", help="Compute the repair index of RECORD as an interval, with every point explained.")
@click.argument("record", type=click.Path(exists=True, dir_okay=False, path_type=Path))
@click.option("--rules", default="eu-2023-1669", show_default=True, metavar="ID", help="Rule set.")
@click.option("--on", type=click.DateTime(["%Y-%m-%d"]), metavar="DATE", help="Day of the rules, YYYY-MM-DD [today].")
@click.option("--reading", "readings", metavar="NAME=OPTION", multiple=True, callback=_readings,
              help="Take another legal reading; may be given several times.")  # fmt: skip
@click.option("--json", "as_json", is_flag=True, help="Print JSON.")
def command(record: Path, rules: str, on: datetime | None, readings: dict[str, str], as_json: bool) -> None:
    """Print the index."""
    from unfasten.cli.readrecord import read_or_exit
    from unfasten.service.assess import assess_record

    model = read_or_exit(record, as_json=as_json)
    answer = assess_record(model, (on or datetime.now()).date(), rules, readings)
    if as_json:
        click.echo(json.dumps(answer.as_json(), indent=1, ensure_ascii=False))
        return
    from unfasten.rules.explain import explain

    click.echo("\n".join(explain(answer, f"{model.product.name}, {model.product.maker}")))
