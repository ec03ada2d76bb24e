"""`unfasten rules`: every rule set with its kind, state and days, and what of it is not coded."""

from __future__ import annotations

import json
import textwrap

import click


@click.command("rules", help="List the rule sets: kind, state, since when, and what is not coded.")
@click.option("--json", "as_json", is_flag=True, help="Print JSON.")
def command(as_json: bool) -> None:
    """Print the list."""
    from unfasten.service.requirements import rule_sets

    found = rule_sets()
    if as_json:
        click.echo(json.dumps({"rules": [head.as_json() for head in found]}, indent=1, ensure_ascii=False))
        return
    for head in found:
        shown = head.as_json()
        since = f", from {shown['from']}" if shown.get("from") else ""
        click.echo(f"{head.id:<20} {head.kind:<13} {head.status:<9} {head.title}{since}")
        for text in [*((head.note,) if head.note else ()), *(f"not coded: {what}" for what in head.not_coded)]:
            click.echo(textwrap.fill(text, 110, initial_indent="    ", subsequent_indent="      "))
