"""`unfasten ask`: the bench questions that are worth an answer."""

from __future__ import annotations

import json
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from unfasten.service.ask import Asking


@click.command("ask", help="Rank the bench questions about RECORD's open covers by what an answer would narrow.")
@click.argument("record", type=click.Path(exists=True, dir_okay=False, path_type=Path))
@click.option("--for", "figure", metavar="FIGURE", default="index", show_default=True,
              help="What to narrow: index, class, or the id of a part (its steps).")  # fmt: skip
@click.option("--limit", type=click.IntRange(min=1), metavar="N", help="The best N questions only.")
@click.option("--on", type=click.DateTime(["%Y-%m-%d"]), metavar="DATE", help="Day of the rules, YYYY-MM-DD [today].")
@click.option("--json", "as_json", is_flag=True, help="Print JSON.")
def command(record: Path, figure: str, limit: int | None, on: datetime | None, as_json: bool) -> None:
    """Print questions."""
    from unfasten.cli.readrecord import read_or_exit
    from unfasten.cli.routetable import caution_lines, stops
    from unfasten.service.ask import ask

    model = read_or_exit(record, as_json=as_json)
    asking = ask(model, (on or datetime.now()).date(), figure, limit)
    if as_json:
        click.echo(json.dumps(asking.as_json(), indent=1, ensure_ascii=False))
        return
    stop = caution_lines(model, ()) if stops(model) else []
    click.echo("\n".join([*stop, *_lines(asking)]))


def _lines(asking: Asking) -> list[str]:
    head = "settled" if asking.settled else "open"
    lines = [f"{asking.name}: {head}: {asking.reason}"]
    if not asking.questions:
        return lines
    unit = {"index": "points", "class": "letters"}.get(asking.name, "steps")
    rows = [("no.", f"narrows [{unit}]", "now", "question")]
    for index, one in enumerate(asking.questions, 1):
        narrows = f"{'~' if not one.question.searched else ''}{float(one.question.narrows):.4g}"
        rows.append((str(index), narrows, "*" if one.while_open else "", one.text))
    widths = [max(len(row[column]) for row in rows) for column in range(3)]
    for row in rows:
        lines.append(f"{row[0]:>{widths[0]}}  {row[1]:>{widths[1]}}  {row[2]:<{widths[2]}}  {row[3]}")
    if any(one.while_open for one in asking.questions):
        lines.append("* ask now: once it is done up again, trying costs new material")
    several = [look for look in asking.looks if len(look.questions) > 1]
    if several:
        lines += ["", "One look answers:", *(f"  {look.text}" for look in several)]
    lines += ["", "Enter an answer with 'unfasten answer'; yes means: still in place, so no cover."]
    return lines
