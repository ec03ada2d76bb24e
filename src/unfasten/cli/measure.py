"""`unfasten measure`: figures from a photo, with their uncertainty."""

from __future__ import annotations

import json
import sys
from collections.abc import Sequence
from pathlib import Path

import click

_FLAGS = {"check_lines": "check-line"}
_KINDS = ["distance", "diameter", "angle", "area", "holes", "parts"]


def _points(ctx: click.Context, param: click.Parameter, values: Sequence[str]) -> list[list[list[float]]]:
    """Read texts such as "120.5,340 980,352", each a list of points."""
    return [_reading(ctx, param, value) for value in values]


def _reading(ctx: click.Context, param: click.Parameter, value: str) -> list[list[float]]:
    out = []
    for word in value.split():
        x, _, y = word.partition(",")
        try:
            out.append([float(x), float(y)])
        except ValueError:
            raise click.BadParameter(f'{word!r} is not x,y in px, such as "120.5,340 980,352"', ctx, param) from None
    return out


def _one(ctx: click.Context, param: click.Parameter, value: str | None) -> list[list[float]] | None:
    return None if value is None else _reading(ctx, param, value)


def _owners(ctx: click.Context, param: click.Parameter, values: Sequence[str]) -> dict[str, str]:
    """Split each LETTER=PART; a part alone stands for picks."""
    out: dict[str, str] = {}
    for value in values:
        letter, equals, part = value.rpartition("=")
        if not part or (equals and not letter) or letter in out:
            raise click.BadParameter(f"{value!r} is not PART, or LETTER=PART with each letter once", ctx, param)
        out[letter] = part
    return out


@click.command("measure", help="Measure on PHOTO, with standard uncertainty, coverage interval and budget.")
@click.argument("photo", type=click.Path(dir_okay=False, path_type=Path))
@click.option("--kind", type=click.Choice(_KINDS), default="distance", show_default=True, help="What is measured.")
@click.option("--picks", multiple=True, callback=_points, metavar='"X,Y X,Y"',
              help="Points in the upright photo [px]; again for each repeated reading, or for each hole.")  # fmt: skip
@click.option("--scale", type=click.Choice(["mat", "card", "length", "rectangle"]), default="mat", show_default=True,
              help="What gives the scale.")  # fmt: skip
@click.option("--check-line", "check_lines", multiple=True, metavar="LENGTH",
              help="A check line of the printed mat, as read: '100.2 ± 0.1 mm'; twice: across, down.")  # fmt: skip
@click.option("--corners", callback=_one, metavar='"X,Y …"', help="Four corners of the card or rectangle.")
@click.option("--width", metavar="LENGTH", help="First side of the rectangle.")
@click.option("--depth", metavar="LENGTH", help="Second side of the rectangle.")
@click.option("--ends", callback=_one, metavar='"X,Y X,Y"', help="Two ends of a known length.")
@click.option("--length", metavar="LENGTH", help="That length, such as '100 ± 0.2 mm'.")
@click.option("--tilt", type=click.FloatRange(0, 45), metavar="DEG",
              help="Most that the camera leans, for --scale length.")  # fmt: skip
@click.option("--height", metavar="LENGTH", help="Height of what is measured over the mat, such as '2.1 ± 0.1 mm'.")
@click.option("--distance", metavar="LENGTH", help="Height of the camera over the mat, if it was measured.")
@click.option("--pointing", type=click.FloatRange(0, 100, min_open=True), metavar="PX",
              help="Standard uncertainty of a pick.")  # fmt: skip
@click.option(
    "--edge", is_flag=True, help="Picks of a diameter, holes or area are rough: measure the edge of light there."
)
@click.option("--lenses", type=click.Path(file_okay=False, path_type=Path), metavar="DIR",
              help="Folder of lens profiles.  [default: $UNFASTEN_LENSES, or lenses in the workspace]")  # fmt: skip
@click.option("--into", type=click.Path(exists=True, dir_okay=False, path_type=Path), metavar="RECORD",
              help="Enter the figure into this record, with the recipe that makes it again.")  # fmt: skip
@click.option("--of", "of", multiple=True, metavar="PART", callback=_owners,
              help="The part it is of; for parts on the mat LETTER=PART, may be given several times.")  # fmt: skip
@click.option("--as", "name", metavar="NAME", help="What the figure is called in the record [its kind].")
@click.option("--rerun", type=click.Path(exists=True, dir_okay=False, path_type=Path), metavar="RECORD",
              help="Make the measurements again that this record holds of PHOTO.")  # fmt: skip
@click.option(
    "--id", "ids", multiple=True, metavar="ID", help="With --rerun: only this one; may be given several times."
)
@click.option("--json", "as_json", is_flag=True, help="Print JSON.")
def command(
    photo: Path,
    lenses: Path | None,
    into: Path | None,
    of: dict[str, str],
    name: str | None,
    rerun: Path | None,
    ids: tuple[str, ...],
    as_json: bool,
    **options: object,
) -> None:
    """Print readings, enter them into a record, or make them again."""
    from unfasten.cli.measuretable import again_lines, note_lines, part_lines, reading_lines
    from unfasten.photo.open import open_photo
    from unfasten.service.camera import load_profiles
    from unfasten.service.measure import measure_photo
    from unfasten.service.measureparts import PartsTable

    profiles = load_profiles(lenses)
    if rerun is not None:
        from unfasten.cli.readrecord import read_or_exit
        from unfasten.service.measurekeep import again

        found = again(read_or_exit(rerun, as_json=as_json), open_photo(photo), profiles, ids)
        told = json.dumps({"measurements": [one.as_json() for one in found]}, indent=1, ensure_ascii=False)
        click.echo(told if as_json else "\n".join(again_lines(found)))
        sys.exit(0 if all(one.same for one in found) else 1)
    done = measure_photo(open_photo(photo), photo.name, _ask(options), profiles)
    kept: tuple[str, ...] = ()
    if into is not None:
        from unfasten.service.measurekeep import keep

        kept = keep(into, done, of, name)
    if as_json:
        click.echo(json.dumps(done.as_json() | {"kept": list(kept)}, indent=1, ensure_ascii=False))
        return
    for line in part_lines(done) if isinstance(done, PartsTable) else reading_lines(done):
        click.echo(line)
    for line in note_lines(done.notes):
        click.echo(line, err=True)
    if into is not None:
        click.echo(f"entered in {into}: {', '.join(kept)}")


def _ask(options: dict[str, object]) -> dict[str, object]:
    """The tree of an ask from the command's options."""
    wanted = {"mat": ("check_lines",), "card": ("corners",), "length": ("ends", "length", "tilt"),
              "rectangle": ("corners", "width", "depth")}  # fmt: skip
    kind = str(options["scale"])
    scale: dict[str, object] = {"kind": kind}
    for name in ("check_lines", "corners", "ends", "length", "tilt", "width", "depth"):
        value = options[name]
        if value in (None, ()):
            continue
        if name not in wanted[kind]:
            raise click.UsageError(f"--{_FLAGS.get(name, name)} does not go with --scale {kind}")
        scale["height" if name == "depth" else name] = value
    picks = options["picks"]
    readings = [picks] if options["kind"] == "holes" and picks else picks
    out: dict[str, object] = {"kind": options["kind"], "readings": readings, "scale": scale}
    given = {name: options[name] for name in ("height", "distance", "pointing") if options[name] is not None}
    return out | given | ({"edge": True} if options["edge"] else {})
