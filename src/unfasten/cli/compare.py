"""`unfasten compare`: what changed between two to eight records, with the evidence."""

from __future__ import annotations

import json
from datetime import datetime
from pathlib import Path

import click


@click.command(
    "compare", help="Compare two to eight RECORDS: what changed, how surely, and what that means for repair."
)
@click.argument("records", nargs=-1, required=True, type=click.Path(exists=True, dir_okay=False, path_type=Path))
@click.option("--pair", "pairs", metavar="A=B", multiple=True,
              help="These are the same part; N:A=M:B names the records by number.")  # fmt: skip
@click.option("--break", "breaks", metavar="A=B", multiple=True, help="These are not the same part.")
@click.option("--pairs", "file", type=click.Path(exists=True, dir_okay=False, path_type=Path), metavar="FILE",
              help="A YAML file with the lists pairs and breaks.")  # fmt: skip
@click.option("--rules", default="eu-2023-1669", show_default=True, metavar="ID", help="Rule set.")
@click.option("--on", type=click.DateTime(["%Y-%m-%d"]), metavar="DATE", help="Day of the rules, YYYY-MM-DD [today].")
@click.option("--budget", type=click.FloatRange(min=0, min_open=True), default=2.0, show_default=True,
              help="Nominal seconds of search per part.")  # fmt: skip
@click.option("-o", "--out", type=click.Path(file_okay=False, path_type=Path), metavar="DIR",
              help="Write the comparison as a page into this folder.")  # fmt: skip
@click.option("--json", "as_json", is_flag=True, help="Print JSON.")
def command(
    records: tuple[Path, ...],
    pairs: tuple[str, ...],
    breaks: tuple[str, ...],
    file: Path | None,
    rules: str,
    on: datetime | None,
    budget: float,
    out: Path | None,
    as_json: bool,
) -> None:
    """Print the comparison, or write it as a page."""
    from unfasten.cli.readrecord import read_or_exit
    from unfasten.service.compare import compare, pins_for

    models = [read_or_exit(path, as_json=as_json) for path in records]
    pins = pins_for(models, pairs, breaks, file)
    found = compare(models, (on or datetime.now()).date(), pins=pins, rules=rules, budget_s=budget)
    if out is not None:
        from unfasten.service.compare_page import write_comparison

        click.echo(str(write_comparison(found, out)), err=as_json)
    if as_json:
        from unfasten.service.compare_json import comparison_json

        click.echo(json.dumps(comparison_json(found), indent=1, ensure_ascii=False))
    elif out is None:
        from unfasten.cli.comparetable import comparison_lines

        click.echo("\n".join(comparison_lines(found)))
