"""`unfasten answer`: the answer to a bench question, entered into the record's log."""

from __future__ import annotations

import json
from pathlib import Path

import click

_HELP = """Enter the answer to a bench question at the end of RECORD's log.

The question is the one that 'unfasten ask' prints: could the joint be released (or the part or bundle be lifted)
with the cover still in place? Yes means that it is clear of it, no that the cover has to come out first.
"""


@click.command("answer", help=_HELP)
@click.argument("record", type=click.Path(exists=True, dir_okay=False, path_type=Path))
@click.option("--joint", metavar="J", help="The joint that the question is about.")
@click.option("--way", type=click.IntRange(min=0), metavar="N", help="Its way, counted from 0 [0].")
@click.option("--part", metavar="P", help="The part that is to be lifted, if no joint is meant.")
@click.option("--bundle", metavar="B", help="The bundle that is to be lifted.")
@click.option("--cover", metavar="C", required=True, help="The part that may or may not be in the way.")
@click.option("--yes/--no", "possible", default=None, help="The answer to the question as it is printed.")
@click.option("--clear", is_flag=True, help="The same as --yes: it can be done with the cover in place.")
@click.option("--covers", is_flag=True, help="The same as --no: the cover has to come out first.")
@click.option("-o", "out", type=click.Path(dir_okay=False, path_type=Path), metavar="FILE",
              help="Write to FILE and leave RECORD as it is.")  # fmt: skip
@click.option("--json", "as_json", is_flag=True, help="Print JSON.")
def command(
    record: Path,
    joint: str | None,
    way: int | None,
    part: str | None,
    bundle: str | None,
    cover: str,
    possible: bool | None,
    clear: bool,
    covers: bool,
    out: Path | None,
    as_json: bool,
) -> None:
    """Enter an answer."""
    from unfasten.cli.readrecord import read_or_exit
    from unfasten.service.answer import answer_file, question_of

    said = {possible, True if clear else None, False if covers else None} - {None}
    if len(said) != 1:
        raise click.UsageError("give one answer: --yes (or --clear), or --no (or --covers)")
    read_or_exit(record, as_json=as_json)
    question = question_of(joint, way, part, bundle, cover)
    answered = answer_file(record, question, covers=False in said, out=out)
    if as_json:
        click.echo(json.dumps(answered.as_json(), indent=1, ensure_ascii=False))
        return
    click.echo(f"entered in {answered.path}: {answered.says}")
    if answered.note:
        click.echo(f"note: {answered.note}", err=True)
