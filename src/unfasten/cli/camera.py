"""`unfasten camera`: calibrating a lens from photos of the mat."""

from __future__ import annotations

import json
from datetime import datetime
from pathlib import Path

import click

_FOLDER = click.option(
    "--lenses",
    type=click.Path(file_okay=False, path_type=Path),
    metavar="DIR",
    help="Folder of lens profiles.  [default: $UNFASTEN_LENSES, or lenses in the workspace]",
)


@click.group(
    "camera",
    help="Lens profiles: 'camera calibrate PHOTO…' finds one from photos of the mat, 'camera list' shows those kept.",
)
def command() -> None:
    """Lens profiles."""


@command.command(
    "calibrate", help="Calibrate the camera that took PHOTOS of the bench mat; six or more, tilted and turned."
)
@click.argument("photos", nargs=-1, required=True, type=click.Path(dir_okay=False, path_type=Path))
@_FOLDER
@click.option("--on", type=click.DateTime(["%Y-%m-%d"]), metavar="DATE", help="Day written into the profile [today].")
@click.option("--json", "as_json", is_flag=True, help="Print JSON.")
def calibrate(photos: tuple[Path, ...], lenses: Path | None, on: datetime | None, as_json: bool) -> None:
    """Calibrate and write the profile."""
    from unfasten.photo.calibrate import said
    from unfasten.service.camera import calibrate_camera

    done = calibrate_camera(photos, lenses, (on or datetime.now()).date())
    profile = done.profile
    if as_json:
        told = {"written": str(done.path), "camera": profile.camera, "focal_length_mm": profile.focal_length,
                "photos": profile.photos, "left_out": list(done.left_out), "rms_px": done.found.rms,
                "numbers": {name: {"value": v, "u": u} for name, (v, u) in said(done.found.lens).items()}}  # fmt: skip
        click.echo(json.dumps(told, indent=1, ensure_ascii=False))
        return
    click.echo(f"written: {done.path}")
    click.echo(
        f"{profile.camera}, {profile.focal_length:g} mm: {profile.photos} photos, residual {done.found.rms:.3f} px"
    )
    for name, (value, u) in said(done.found.lens).items():
        click.echo(f"  {name:<3} {value:12.5g} ± {u or 0:.2g}")
    for reason in done.left_out:
        click.echo(f"left out: {reason}", err=True)


@command.command("list", help="List the lens profiles that are kept.")
@_FOLDER
@click.option("--json", "as_json", is_flag=True, help="Print JSON.")
def listed(lenses: Path | None, as_json: bool) -> None:
    """Show each profile on a line."""
    from unfasten.service.camera import lenses_dir, load_profiles

    found = load_profiles(lenses)
    if as_json:
        click.echo(json.dumps([profile.model_dump(mode="json", exclude={"covariance"}) for profile in found], indent=1,
                              ensure_ascii=False))  # fmt: skip
        return
    if not found:
        click.echo(f"no lens profile in {lenses_dir(lenses)}; 'unfasten camera calibrate PHOTO…' makes one")
    for profile in found:
        size = f"{profile.width} x {profile.height} px"
        click.echo(f"{profile.camera}, {profile.focal_length:g} mm, {size}: {profile.photos} photos, {profile.on}")
