"""`unfasten exchange`: which parts of two to eight records serve in one another's place, and which can be pooled."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Literal, cast

import click


@click.command("exchange", help="Judge which parts of two to eight RECORDS serve in one another's place.")
@click.argument("records", nargs=-1, required=True, type=click.Path(exists=True, dir_okay=False, path_type=Path))
@click.option("--part", metavar="ID", help="This part only, with every criterion.")
@click.option("--rule", type=click.Choice(["probability", "guard-band"]), default="probability", show_default=True,
              help="Decision rule.")  # fmt: skip
@click.option("--limit", type=click.FloatRange(0.5, 1, max_open=True), default=0.95, show_default=True,
              help="Least conformance probability.")  # fmt: skip
@click.option("-k", type=click.FloatRange(0, 10), default=2.0, show_default=True, help="Width of the guard band, in u.")
@click.option("--pair", "pairs", metavar="A=B", multiple=True, help="These are the same part.")
@click.option("--break", "breaks", metavar="A=B", multiple=True, help="These are not the same part.")
@click.option("--json", "as_json", is_flag=True, help="Print JSON.")
def command(
    records: tuple[Path, ...],
    part: str | None,
    rule: str,
    limit: float,
    k: float,
    pairs: tuple[str, ...],
    breaks: tuple[str, ...],
    as_json: bool,
) -> None:
    """Print the answers."""
    from unfasten.cli.exchangetable import exchange_lines
    from unfasten.cli.readrecord import read_or_exit
    from unfasten.compare.conform import Rule
    from unfasten.service.compare import pins_for
    from unfasten.service.exchange import exchanges, exchanges_json

    models = [read_or_exit(path, as_json=as_json) for path in records]
    chosen = Rule(cast(Literal["probability", "guard-band"], rule), limit, k)
    found = exchanges(models, part, rule=chosen, pins=pins_for(models, pairs, breaks, None))
    if as_json:
        click.echo(json.dumps(exchanges_json(models, found, chosen), indent=1, ensure_ascii=False))
        return
    click.echo("\n".join(exchange_lines(models, found, chosen, in_full=part is not None)))
