"""`unfasten why`: why a part sits as deep as it does."""

from __future__ import annotations

import json
from collections.abc import Callable, Sequence
from pathlib import Path
from textwrap import wrap
from typing import TYPE_CHECKING, Any, Literal, cast

import click

if TYPE_CHECKING:
    from unfasten.record.record import Record
    from unfasten.routes.explain import Why
    from unfasten.routes.result import By


HELP = """Explain the depth of PART: reasons, what each prerequisite costs, what would save most.

With --without: could PART not have been reached without it? The answer is the proof that it could not, or the cheapest
way without it and what that costs more, if no open cover is real and if all are. NAME is a part (not taken out), joint
(not undone), bundle, swing or tool of the record by id or name, heat or clean; or a place such as joints.back-glue.
"""


@click.command("why", help=HELP)
@click.argument("record", type=click.Path(exists=True, dir_okay=False, path_type=Path))
@click.argument("part")
@click.option("--without", "names", metavar="NAME", multiple=True, help="Without this; may be given several times.")
@click.option("--by", type=click.Choice(["steps", "time"]), default="steps", show_default=True, help="What is least.")
@click.option("--budget", type=click.FloatRange(min=0, min_open=True), default=2.0, show_default=True,
              help="Nominal seconds of search per route.")  # fmt: skip
@click.option("--json", "as_json", is_flag=True, help="Print JSON.")
def command(record: Path, part: str, names: tuple[str, ...], by: str, budget: float, as_json: bool) -> None:
    """Print the explanation."""
    from unfasten.cli.readrecord import read_or_exit
    from unfasten.service.why import why, why_json

    model = read_or_exit(record, as_json=as_json)
    objective = cast(Literal["steps", "time"], by)
    if names:
        _without(model, part, names, objective, budget, str(record), as_json=as_json)
        return
    answer = why(model, part, objective, budget)
    if as_json:
        click.echo(json.dumps(why_json(model, answer), indent=1, ensure_ascii=False))
        return
    click.echo("\n".join(_lines(model, answer)))


def _without(
    model: Record, part: str, names: Sequence[str], by: By, budget: float, path: str, *, as_json: bool
) -> None:
    from unfasten.cli.withouttable import without_lines
    from unfasten.service.without import reached_without, without_json

    answer = reached_without(model, part, names, by, budget)
    if as_json:
        click.echo(json.dumps(without_json(model, answer), indent=1, ensure_ascii=False))
        return
    click.echo("\n".join(without_lines(model, answer, path)))


def _lines(record: Record, answer: Why) -> list[str]:
    from unfasten.cli.routetable import aligned, caution_lines, route_head, stops
    from unfasten.service.why import actions_of, alternative_words, chain, moved_words, over_words, saving_words

    lines = [f"{record.parts[answer.reach.target].name}, {record.product.name}", route_head(answer.reach)]
    if answer.route is None:
        return lines
    if stops(record):
        lines += ["", *caution_lines(record, ())[:-1], ""]
    lines += [f"Explained: the {answer.world} route.", "", "Chain of reasons, from the part outwards"]
    lines += [f"  {sentence}" for sentence in chain(record, answer)]
    if stops(record):
        return lines
    rows = [("moves first", "id", "because it", "steps", "time [s]")]
    for one in answer.prerequisites:
        texts = moved_words(record, one), one.action.id, over_words(record, one)
        rows.append((*texts, str(one.steps), f"{float(one.time):.1f}"))
    lines += [
        "",
        "What would be saved if it were not in the way",
        *_indented(aligned(rows) if len(rows) > 1 else ["nothing"]),
    ]
    lines += ["", "The best way without one thing that this one does, the cheapest first"]
    found = [alternative_words(record, answer, one) for one in answer.alternatives] or ["none"]
    lines += [line for text in found for line in wrap(text, 110, initial_indent="  ", subsequent_indent="      ")]
    lines += _savings("An access hole would save", record, answer, "holes", saving_words)
    lines += _savings("A way by hand would save", record, answer, "by_hand", saving_words)
    return [*lines, "", "Cautions for all ways named above", *_indented(caution_lines(record, actions_of(answer))[:-1])]


def _savings(title: str, record: Record, answer: Why, which: str, words: Callable[[Record, Any], str]) -> list[str]:
    from unfasten.cli.routetable import aligned

    savings = getattr(answer, which)
    if not savings:
        return ["", f"{title} nothing."]
    rows = [("change", "steps", "time [s]")]
    rows += [(words(record, one), str(one.steps), f"{float(one.time):.1f}") for one in savings[:6]]
    return ["", title, *_indented(aligned(rows))]


def _indented(lines: list[str]) -> list[str]:
    return [f"  {line}" for line in lines]
