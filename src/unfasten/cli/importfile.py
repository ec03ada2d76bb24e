"""`unfasten import`: take a record file or an archive into the workspace."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import click


@click.command("import")
@click.argument("file", type=click.Path(path_type=Path))
@click.option("-w", "--workspace", "folder", type=click.Path(file_okay=False, path_type=Path), metavar="DIR",
              help="Folder of the workspace.  [default: workspace]")  # fmt: skip
@click.option("--by", metavar="NAME", help="Who brings it in (a record file only; an archive says who did what).")
@click.option("--recover", is_flag=True, help="Take what can be saved of a damaged archive; every repair is listed.")
def command(file: Path, folder: Path | None, by: str | None, recover: bool) -> None:
    """Take FILE (a record as YAML or JSON, or an archive) into the workspace.

    Reading is strict: with any error, all errors are listed and nothing is taken. Exit status: 0 taken, 1 the file has
    errors, 2 the call is wrong.
    """
    from uuid import uuid4

    from unfasten.service.settings import WORKSPACE
    from unfasten.service.transfer import import_file
    from unfasten.service.workspace import open_workspace

    now = datetime.now().astimezone()
    with open_workspace(folder or WORKSPACE, now) as workspace:
        done = import_file(workspace, file, now, uuid4(), by, recover=recover)
    for finding in done.findings:
        click.echo(f"{finding.level:<8} {finding}", err=True)
    added = (
        f"{done.entries} entr{'y' if done.entries == 1 else 'ies'} and {done.photos} photo{'s' * (done.photos != 1)}"
    )
    click.echo(f"{done.record}: {added} added" if done.entries or done.photos else f"{done.record}: held already")
