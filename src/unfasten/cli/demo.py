"""`unfasten demo`: the main job on the shipped example records."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from rich.console import Console

    from unfasten.service.demo import Outcome, Tell


@click.command(
    "demo",
    help="Put the shipped example records into a workspace and do the main job on each: routes, index and report.",
)
@click.option("-o", "--output", type=click.Path(file_okay=False, path_type=Path), metavar="DIR",
              help="Folder of the workspace.  [default: workspace]")  # fmt: skip
@click.option("--on", type=click.DateTime(["%Y-%m-%d"]), metavar="DATE", help="Day of the rules (YYYY-MM-DD); today.")
def command(output: Path | None, on: datetime | None) -> None:
    """Show each record's parts and index as soon as they are found, then where the reports are."""
    from rich.console import Console

    from unfasten.cli.demotable import record_view, summary_view
    from unfasten.service.demo import run_demo
    from unfasten.service.settings import EXAMPLE, WORKSPACE, example_records, examples_dir

    now = datetime.now().astimezone()
    console = Console(highlight=False, markup=False, emoji=False)
    files = example_records()
    outcomes: list[Outcome] = []
    with _progress(console) as tell:
        for outcome in run_demo(output or WORKSPACE, files, (on or now).date(), now, tell):
            console.print(record_view(outcome))
            outcomes.append(outcome)
    console.print(summary_view(outcomes, _program(), examples_dir() / EXAMPLE))


def _program() -> str:
    """The program as it can be called from here."""
    called, here = Path(sys.argv[0]), Path.cwd()
    if called.is_absolute():
        return str(called.relative_to(here)) if called.is_relative_to(here) else called.name
    return str(called)


@contextmanager
def _progress(console: Console) -> Iterator[Tell]:
    """A bar on a terminal, plain lines on stderr otherwise."""
    if not console.is_terminal:
        yield lambda name, stage, done, total: click.echo(f"[{done + 1}/{total}] {name}: {stage}", err=True)
        return
    from rich.progress import BarColumn, Progress, TextColumn, TimeElapsedColumn

    columns = (BarColumn(24), TextColumn("{task.completed}/{task.total}  {task.description}"), TimeElapsedColumn())
    with Progress(*columns, console=console, transient=True) as bar:
        task = bar.add_task("starting", total=None)
        yield lambda name, stage, done, total: bar.update(
            task, completed=done, total=total, description=f"{name}: {stage}"
        )
