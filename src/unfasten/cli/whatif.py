"""`unfasten whatif`: what changes of construction or supply would do; or which one would help most."""

from __future__ import annotations

import gc
import json
import sys
from collections.abc import Iterator, Sequence
from contextlib import contextmanager, nullcontext
from datetime import datetime
from pathlib import Path

import click

HELP = """Show what each CHANGE of construction or supply would do to RECORD; the record itself stays as it is.

A CHANGE is PLACE=VALUE with a place as findings write it, such as joints.battery-glue.reuse=reusable,
joints.battery-plug.ways[0].under-=battery-brace, joints.battery-glue.ways+=hand, tools.pad.class=basic,
parts.battery.pairing=none, bundles.camera-stack=none, supply.updates.years=7, supply.spare_parts.public+=speaker.
"""


@click.command("whatif", help=HELP)
@click.argument("record", type=click.Path(exists=True, dir_okay=False, path_type=Path))
@click.argument("changes", nargs=-1, metavar="[CHANGE]...")
@click.option("--best", is_flag=True, help="Search the single changes that help most instead.")
@click.option(
    "--for", "target", default="index", show_default=True, metavar="index|PART", help="With --best: what for."
)
@click.option("--pairs", is_flag=True, help="With --best: search pairs of changes too; this can take minutes.")
@click.option("--limit", type=click.IntRange(min=1), default=5, show_default=True, help="With --best: list this many.")
@click.option("--rules", default="eu-2023-1669", show_default=True, metavar="ID", help="Rule set.")
@click.option("--on", type=click.DateTime(["%Y-%m-%d"]), metavar="DATE", help="Day of the rules, YYYY-MM-DD [today].")
@click.option("--json", "as_json", is_flag=True, help="Print JSON.")
def command(
    record: Path,
    changes: Sequence[str],
    best: bool,
    target: str,
    pairs: bool,
    limit: int,
    rules: str,
    on: datetime | None,
    as_json: bool,
) -> None:
    """Print what changes would do."""
    if best == bool(changes):
        raise click.UsageError("give one or more changes, or --best alone")
    if not best and (pairs or target != "index"):
        raise click.UsageError("--for and --pairs belong to --best")
    from unfasten.cli.readrecord import read_or_exit
    from unfasten.cli.whatiftable import best_lines, whatif_lines
    from unfasten.service.best import best_changes
    from unfasten.service.whatif import ChangeInvalid, best_json, what_if

    model, day = read_or_exit(record, as_json=as_json), (on or datetime.now()).date()
    if best:
        with _uncollected() if not pairs else nullcontext():
            found = best_changes(model, day, target, pairs=pairs, limit=limit, ruleset=rules)
        click.echo(_text(best_json(found)) if as_json else "\n".join(best_lines(found)))
        return
    try:
        answer = what_if(model, changes, day, rules)
    except ChangeInvalid as error:
        if not as_json:
            raise
        click.echo(_text(error.as_json()))
        sys.exit(error.exit_code)
    click.echo(_text(answer.as_json()) if as_json else "\n".join(whatif_lines(answer)))


@contextmanager
def _uncollected() -> Iterator[None]:
    """No search for garbage for a second or two: nearly all that is made stays, and going through it takes a fifth."""
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()


def _text(answer: object) -> str:
    return json.dumps(answer, indent=1, ensure_ascii=False)
