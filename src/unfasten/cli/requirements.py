"""`unfasten requirements`: a verdict for each requirement of a rule set, with reasons and what to look at."""

from __future__ import annotations

import json
from datetime import datetime
from pathlib import Path

import click

from unfasten.cli.rulesoptions import rules_options


@click.command("requirements", help="Judge RECORD requirement by requirement: met, not met, does not apply, unknown.")
@rules_options("eu-2023-1670")
def command(record: Path, rules: str, on: datetime | None, readings: dict[str, str], as_json: bool) -> None:
    """Print the verdicts."""
    from unfasten.cli.readrecord import read_or_exit
    from unfasten.service.requirements import requirements

    model = read_or_exit(record, as_json=as_json)
    answer = requirements(model, (on or datetime.now()).date(), rules, readings)
    if as_json:
        click.echo(json.dumps(answer.as_json(), indent=1, ensure_ascii=False))
        return
    from unfasten.rules.verdicttext import decision_text

    click.echo("\n".join(decision_text(answer, f"{model.product.name}, {model.product.maker}")))
