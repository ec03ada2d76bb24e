"""`unfasten schema`: print the JSON Schema of the record file."""

from __future__ import annotations

import click


@click.command("schema")
def command() -> None:
    """Print the JSON Schema (draft 2020-12) of the record file."""
    from unfasten.service.schema import schema_text

    click.echo(schema_text())
