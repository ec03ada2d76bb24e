"""`unfasten why`: why a part sits as deep as it does."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal, cast

import click

if TYPE_CHECKING:
    from unfasten.record.record import Record
    from unfasten.routes.explain import Why


@click.command("why", help="Explain the depth of PART: reasons, what each prerequisite costs, what would save most.")
@click.argument("record", type=click.Path(exists=True, dir_okay=False, path_type=Path))
@click.argument("part")
@click.option("--by", type=click.Choice(["steps", "time"]), default="steps", show_default=True, help="What is least.")
@click.option("--budget", type=click.FloatRange(min=0, min_open=True), default=2.0, show_default=True,
              help="Nominal seconds of search per route.")  # fmt: skip
@click.option("--json", "as_json", is_flag=True, help="Print JSON.")
def command(record: Path, part: str, by: str, budget: float, as_json: bool) -> None:
    """Print the explanation."""
    from unfasten.cli.readrecord import read_or_exit
    from unfasten.service.why import why, why_json

    model = read_or_exit(record, as_json=as_json)
    answer = why(model, part, cast(Literal["steps", "time"], by), budget)
    if as_json:
        click.echo(json.dumps(why_json(model, answer), indent=1, ensure_ascii=False))
        return
    click.echo("\n".join(_lines(model, answer)))


def _lines(record: Record, answer: Why) -> list[str]:
    from unfasten.cli.routetable import aligned, route_head
    from unfasten.service.why import alternative_words, chain, over_words, saving_words

    lines = [f"{record.parts[answer.reach.target].name}, {record.product.name}", route_head(answer.reach)]
    if answer.route is None:
        return lines
    lines += [f"Explained: the {answer.world} route.", "", "Chain of reasons, from the part outwards"]
    lines += [f"  {sentence}" for sentence in chain(record, answer)]
    rows = [("moves first", "because it", "steps", "time [s]")]
    for one in answer.prerequisites:
        name = one.action.id + (" (swing)" if one.action.do == "swing" else "")
        rows.append((name, over_words(record, one), str(one.steps), f"{float(one.time):.1f}"))
    lines += ["", "What would be saved if it were not in the way", *_indented(aligned(rows))]
    lines += ["", "Alternatives, the best first"]
    lines += [f"  {alternative_words(record, answer, one)}" for one in answer.alternatives[:5]] or ["  none"]
    lines += _savings("An access hole would save", record, answer, "holes", saving_words)
    return lines + _savings("A way by hand would save", record, answer, "by_hand", saving_words)


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
