"""`unfasten swaps`: the swap tests of a family as a matrix, which cells matter, and the tests to run next."""

from __future__ import annotations

import json
from datetime import datetime
from pathlib import Path

import click


@click.command("swaps", help="Lay out the swap tests of RECORDS: what was taken, what is open, and what to test next.")
@click.argument("records", nargs=-1, required=True, type=click.Path(exists=True, dir_okay=False, path_type=Path))
@click.option("--rules", default="eu-2023-1669", show_default=True, metavar="ID", help="Rule set.")
@click.option("--on", type=click.DateTime(["%Y-%m-%d"]), metavar="DATE", help="Day of the rules, YYYY-MM-DD [today].")
@click.option("-o", "--out", type=click.Path(file_okay=False, path_type=Path), metavar="DIR",
              help="Write the matrix as a page into this folder.")  # fmt: skip
@click.option("--json", "as_json", is_flag=True, help="Print JSON.")
def command(records: tuple[Path, ...], rules: str, on: datetime | None, out: Path | None, as_json: bool) -> None:
    """Print the matrix, or write it as a page."""
    from unfasten.cli.readrecord import read_or_exit
    from unfasten.service.swap import swap_family, swaps_json

    found = swap_family(
        [read_or_exit(path, as_json=as_json) for path in records], (on or datetime.now()).date(), rules
    )  # fmt: skip
    if out is not None:
        from unfasten.service.swap_page import write_swaps

        click.echo(str(write_swaps(found, out)), err=as_json)
    if as_json:
        click.echo(json.dumps(swaps_json(found), indent=1, ensure_ascii=False))
    elif out is None:
        from unfasten.cli.swaptable import swap_lines

        click.echo("\n".join(swap_lines(found)))
