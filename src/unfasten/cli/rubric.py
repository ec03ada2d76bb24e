"""`unfasten rubric`: a record scored by a lab's own rubric, in percent, as an interval with reasons."""

from __future__ import annotations

import json
import sys
import textwrap
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from unfasten.rules.rubric import Rubric, RubricResult, Scored

WIDTH = 114


@click.command("rubric", help="Score RECORD by a rubric of your own, in percent; see docs/rubric.md for its file.")
@click.argument("record", type=click.Path(exists=True, dir_okay=False, path_type=Path))
@click.option("--rubric", "rubric_file", required=True, type=click.Path(exists=True, dir_okay=False, path_type=Path),
              metavar="FILE", help="The rubric's file.")  # fmt: skip
@click.option("--on", type=click.DateTime(["%Y-%m-%d"]), metavar="DATE", help="Day of the rules, YYYY-MM-DD [today].")
@click.option("--json", "as_json", is_flag=True, help="Print JSON.")
def command(record: Path, rubric_file: Path, on: datetime | None, as_json: bool) -> None:
    """Print the result."""
    from unfasten.cli.readrecord import read_or_exit
    from unfasten.service.rubric import rubric_score

    rubric = _rubric_or_exit(rubric_file, as_json)
    model = read_or_exit(record, as_json=as_json)
    answer = rubric_score(model, rubric, (on or datetime.now()).date())
    if as_json:
        click.echo(json.dumps(answer.as_json(), indent=1, ensure_ascii=False))
        return
    click.echo("\n".join([f"{model.product.name}, {model.product.maker}", *_lines(answer)]))


def _rubric_or_exit(path: Path, as_json: bool) -> Rubric:
    """Give the rubric, or show every problem and exit with status 1."""
    from unfasten.evidence.fields import InvalidFileError
    from unfasten.evidence.place import place
    from unfasten.service.rubric import load_rubric

    try:
        return load_rubric(path)
    except InvalidFileError as error:
        problems = error.problems
    if as_json:
        findings = [
            {
                "level": "error",
                "code": p.code,
                "at": place(p.path),
                "line": p.line,
                "message": p.message,
                "try": p.remedy,
            }
            for p in problems
        ]
        click.echo(json.dumps({"ok": False, "findings": findings}, indent=1, ensure_ascii=False))
        sys.exit(1)
    for problem in problems:
        click.echo(f"{path}: {problem}", err=True)
    click.echo(f"{path}: {len(problems)} error{'' if len(problems) == 1 else 's'}; the rubric was not used", err=True)
    sys.exit(1)


def _lines(answer: RubricResult) -> list[str]:
    from unfasten.rules.rubric import percent_text

    whole = "-" if answer.percent is None else _span(answer.percent.low, answer.percent.high)
    out = [f"{answer.rubric.title} ({answer.rubric.id})", "", f"{whole} %", ""]
    for one in answer.scored:
        percent = "left out" if one.percent is None else f"{_span(one.percent.low, one.percent.high)} %"
        share = percent_text(100 * answer.share(one))
        out.append(f"{one.mark.title:<44} {percent:>18}   share {share:>6} %   {one.value.text}")
        out += [line for text in _texts(one) for line in textwrap.wrap(text, WIDTH, initial_indent="    ",
                                                                       subsequent_indent="      ")]  # fmt: skip
    note = textwrap.wrap(answer.rubric.note, WIDTH) if answer.rubric.note else []
    return [*out, "", *note] if note else out


def _texts(one: Scored) -> list[str]:
    looks = [f"to look at: {look} [{look.where}]" for look in one.look[:6]]
    more = [f"and {len(one.look) - 6} more to look at"] if len(one.look) > 6 else []
    return [*one.reasons, *looks, *more]


def _span(low: object, high: object) -> str:
    from fractions import Fraction

    from unfasten.rules.rubric import percent_text

    ends = [percent_text(end) for end in (low, high) if isinstance(end, Fraction)]
    return ends[0] if ends[0] == ends[1] else " to ".join(ends)
