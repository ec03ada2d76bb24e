"""`unfasten export`: write a record of the workspace as YAML or as an archive."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import click


@click.command("export")
@click.argument("record")
@click.option("-o", "--output", type=click.Path(dir_okay=False, path_type=Path), required=True, metavar="FILE",
              help="File to write; a name that ends in .zip makes an archive.")  # fmt: skip
@click.option(
    "--archive", is_flag=True, help="Make an archive whatever the name: ledger, record and photos in one zip."
)
@click.option("--overwrite", is_flag=True, help="Write over a file of that name.")
@click.option("-w", "--workspace", "folder", type=click.Path(file_okay=False, path_type=Path), metavar="DIR",
              help="Folder of the workspace.  [default: workspace]")  # fmt: skip
def command(record: str, output: Path, archive: bool, overwrite: bool, folder: Path | None) -> None:
    """Write RECORD (its id) to a file: the present state as YAML, or everything as an archive.

    An archive holds the whole ledger and the photos, each with its SHA-256; importing it into an empty workspace gives
    the same entries and the same bytes.
    """
    from unfasten.service.settings import WORKSPACE
    from unfasten.service.transfer import export_file
    from unfasten.service.workspace import open_workspace

    now = datetime.now().astimezone()
    with open_workspace(folder or WORKSPACE, now) as workspace:
        done = export_file(workspace, record, output, now, archive=archive, overwrite=overwrite)
    for name in done.absent:
        click.echo(f"warning  the record names photo {name}, and the workspace does not hold it", err=True)
    what = f"ledger of {done.entries} entries and {done.photos} photos" if done.is_archive else "present state"
    click.echo(f"{click.format_filename(done.path)}: {record}, {what}")
