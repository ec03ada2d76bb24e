"""`unfasten index`: the repair index of a record under a rule set, with every point explained."""

from __future__ import annotations

import json
from datetime import datetime
from pathlib import Path

import click

from unfasten.cli.rulesoptions import rules_options


@click.command("index", help="Compute the repair index of RECORD as an interval, with every point explained.")
@rules_options("eu-2023-1669")
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
