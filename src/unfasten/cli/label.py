"""`unfasten label`: the quantities of the EU label from the test figures of a record, as intervals."""

from __future__ import annotations

import json
from datetime import datetime
from pathlib import Path

import click

from unfasten.cli.rulesoptions import rules_options


@click.command("label", help="Compute the label quantities of RECORD from its test figures, as intervals.")
@rules_options("eu-2023-1669-label")
def command(record: Path, rules: str, on: datetime | None, readings: dict[str, str], as_json: bool) -> None:
    """Print the quantities."""
    from unfasten.cli.readrecord import read_or_exit
    from unfasten.service.requirements import label

    model = read_or_exit(record, as_json=as_json)
    answer = label(model, (on or datetime.now()).date(), rules, readings)
    if as_json:
        click.echo(json.dumps(answer.as_json(), indent=1, ensure_ascii=False))
        return
    from unfasten.rules.verdicttext import label_text

    click.echo("\n".join(label_text(answer, f"{model.product.name}, {model.product.maker}")))
