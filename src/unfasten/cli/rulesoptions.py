"""Options that every command about a rule set takes: its day and its readings."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import click


def split_readings(ctx: click.Context, param: click.Parameter, values: Sequence[str]) -> dict[str, str]:
    """Split each NAME=OPTION; a name given twice is refused."""
    out: dict[str, str] = {}
    for value in values:
        name, equals, option = value.partition("=")
        if not (name and equals and option):
            raise click.BadParameter(f"{value!r} is not NAME=OPTION, such as class-rounding=rounded-first", ctx, param)
        if name in out:
            raise click.BadParameter(f"{name} is given twice; keep one", ctx, param)
        out[name] = option
    return out


def rules_options(default: str) -> Callable[[Callable[..., Any]], Callable[..., Any]]:
    """RECORD, --rules, --on, --reading and --json."""

    def add(command: Callable[..., Any]) -> Callable[..., Any]:
        for option in reversed(
            (
                click.argument("record", type=click.Path(exists=True, dir_okay=False, path_type=Path)),
                click.option("--rules", default=default, show_default=True, metavar="ID", help="Rule set."),
                click.option("--on", type=click.DateTime(["%Y-%m-%d"]), metavar="DATE",
                             help="Day of the rules, YYYY-MM-DD [today]."),
                click.option("--reading", "readings", metavar="NAME=OPTION", multiple=True, callback=split_readings,
                             help="Take another legal reading; may be given several times."),
                click.option("--json", "as_json", is_flag=True, help="Print JSON."),
            )
        ):  # fmt: skip
            command = option(command)
        return command

    return add
