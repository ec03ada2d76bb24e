"""`unfasten mat`: the bench mat as a PDF at 1:1."""

from __future__ import annotations

import json
from datetime import datetime
from pathlib import Path

import click


@click.command("mat", help="Write the bench mat, a PDF at exactly 1:1: markers, plain field, fastener cells.")
@click.option("--size", default="A4", show_default=True, metavar="A4|A3|letter", help="Size of the paper.")
@click.option("-o", "--output", type=click.Path(dir_okay=False, path_type=Path), metavar="FILE",
              help="The PDF to write.  [default: mat-SIZE.pdf]")  # fmt: skip
@click.option("--on", type=click.DateTime(["%Y-%m-%d"]), metavar="DATE", help="Day of issue (YYYY-MM-DD) [today].")
@click.option("--json", "as_json", is_flag=True, help="Print JSON.")
def command(size: str, output: Path | None, on: datetime | None, as_json: bool) -> None:
    """Write the mat."""
    from unfasten.photo.mat import CHECK_LINE
    from unfasten.service.mat import write_mat

    out = output or Path(f"mat-{size.lower()}.pdf")
    mat = write_mat(size, out, (on or datetime.now()).date())
    if as_json:
        ids = sorted(mat.markers)
        told = {"written": str(out), "size": mat.size, "markers": [ids[0], ids[-1]], "cells": len(mat.cells),
                "check_line_mm": CHECK_LINE}  # fmt: skip
        click.echo(json.dumps(told, indent=1, ensure_ascii=False))
        return
    click.echo(f"written: {out} ({mat.size}, {len(mat.markers)} markers, {len(mat.cells)} cells)")
    click.echo(f"Print it at 100 %, then measure both check lines: they are {CHECK_LINE:g} mm long.")
    click.echo("If they are not, hand the length you read to 'unfasten measure' with --check-line.")
