"""`unfasten identify`: name threads, drives, packages, date codes and markings, and compute the use of a board."""

from __future__ import annotations

import json
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any, Protocol

import click

if TYPE_CHECKING:
    from unfasten.photo.identify.drives import Shape

_DAY = click.DateTime(["%Y-%m-%d"])
_FILE = click.Path(exists=True, dir_okay=False, path_type=Path)
_JSON = click.option("--json", "as_json", is_flag=True, help="Print JSON.")


class _Answer(Protocol):
    def as_json(self) -> dict[str, object]: ...


@click.group("identify")
def command() -> None:
    """Name what was measured or read, always as a set: a thread, a drive, a package, a date code, a marking.

    Lengths are written with their standard uncertainty, such as "1.58 ± 0.02 mm".
    """


@command.command("thread")
@click.option("--diameter", required=True, metavar="LENGTH", help="Outer diameter.")
@click.option("--pitch", metavar="LENGTH", help="Pitch.")
@click.option("--length", metavar="LENGTH", help="Instead of the pitch: length over --turns turns.")
@click.option("--turns", type=click.IntRange(1, 200), help="Turns on that length.")
@_JSON
def thread(diameter: str, pitch: str | None, length: str | None, turns: int | None, as_json: bool) -> None:
    """List the threads that a screw of this diameter and pitch can be."""
    from unfasten.cli.identifytext import thread_lines
    from unfasten.service.identify import identify_thread

    answer = identify_thread(diameter, _today(), pitch, length, turns)
    _show(answer, thread_lines, as_json=as_json)


@command.command("drive")
@click.option("--across-points", metavar="LENGTH", help="Width of the recess from point to opposite point.")
@click.option("--shape", type=click.Choice(["hexalobular", "cross"]), help="Shape, if it was seen.")
@click.option("--thread", default="", metavar="NAME", help="Thread of the screw, such as M2.")
@click.option("--head", metavar="LENGTH", help="Diameter of the head (pan heads).")
@click.option("--lobes", type=click.IntRange(2, 12), help="Lobes or wings counted.")
@click.option("--pin/--no-pin", default=None, help="Whether there is a pin in the middle.")
@_JSON
def drive(
    across_points: str | None,
    shape: Shape | None,
    thread: str,
    head: str | None,
    lobes: int | None,
    pin: bool | None,
    as_json: bool,
) -> None:
    """List the drives that a recess can be."""
    from unfasten.cli.identifytext import drive_lines
    from unfasten.service.identify import identify_drive

    if across_points is None and not thread and lobes is None:
        raise click.UsageError("give --across-points, --thread or --lobes")
    answer = identify_drive(_today(), across_points, shape, thread, head, lobes, pin)
    _show(answer, drive_lines, as_json=as_json)


@command.command("package")
@click.option("--size", required=True, metavar="SIZE", help='Body size, such as "11.52 x 13.01 ± 0.05 mm".')
@click.option("--balls", type=click.IntRange(min=1), help="Balls, if they were counted.")
@_JSON
def package(size: str, balls: int | None, as_json: bool) -> None:
    """List the memory packages that a body of this size can be."""
    from unfasten.cli.identifytext import package_lines
    from unfasten.service.identify import identify_package

    _show(identify_package(size, _today(), balls), package_lines, as_json=as_json)


@command.command("date-code")
@click.argument("code")
@click.option("--made-before", type=_DAY, metavar="DATE", help="A day on which the part existed, YYYY-MM-DD [today].")
@_JSON
def date_code(code: str, made_before: datetime | None, as_json: bool) -> None:
    """Tell the weeks that CODE can mean (YYWW, YWW or YYYYWW, ISO weeks)."""
    from unfasten.cli.identifytext import date_code_lines
    from unfasten.service.identify import identify_date_code

    answer = identify_date_code(code, made_before.date() if made_before else _today())
    _show(answer, date_code_lines, as_json=as_json)


@command.command("marking")
@click.argument("photo", type=_FILE)
@click.option("--region", metavar="X,Y,W,H", help="The package on the photo: left, top, width, height in px.")
@click.option("--parts", type=_FILE, metavar="LIST", help="The lab's own list of parts to compare with.")
@click.option("--crop", "crop_file", type=click.Path(dir_okay=False, path_type=Path), help="Write the crop (JPEG).")
@click.option("--made-before", type=_DAY, metavar="DATE", help="For date codes: a day on which the part existed.")
@click.option("--confirm", "lines", multiple=True, metavar="LINE", help="What a person sees there; repeat for lines.")
@click.option("--as", "part", metavar="ID", help="With --confirm: the part of the list that it is.")
@click.option("--by", default="", metavar="NAME", help="With --confirm: the person.")
@_JSON
def marking(
    photo: Path,
    region: str | None,
    parts: Path | None,
    crop_file: Path | None,
    made_before: datetime | None,
    lines: tuple[str, ...],
    part: str | None,
    by: str,
    as_json: bool,
) -> None:
    """Propose a reading of the marking on PHOTO, to be confirmed by a person beside the crop.

    With --confirm the confirmation is printed as JSON, with the proposal beside it.
    """
    from unfasten.cli.identifytext import marking_lines
    from unfasten.service.identify import confirm_marking, identify_marking, photo_at, read_parts, read_region

    if not lines and (part or by):
        raise click.UsageError("--as and --by belong to --confirm")
    listed = None if parts is None else read_parts(parts)
    where = None if region is None else read_region(region)
    answer = identify_marking(photo_at(photo), made_before.date() if made_before else _today(), where, listed)
    if crop_file is not None:
        crop_file.write_bytes(answer.crop)
    if lines:
        kept = confirm_marking(answer, lines, by, datetime.now().astimezone(), part, listed or ())
        click.echo(_text(kept))
        return
    _show(answer, marking_lines, as_json=as_json)


@command.command("board")
@click.argument("outlines", type=_FILE)
@click.option("--photo", type=_FILE, help="A photo of one side: OUTLINES are then picks on it, in px.")
@click.option(
    "--lenses",
    type=click.Path(file_okay=False, path_type=Path),
    metavar="DIR",
    help="With --photo: folder of lens profiles.  [default: $UNFASTEN_LENSES, or lenses in the workspace]",
)
@_JSON
def board(outlines: Path, photo: Path | None, lenses: Path | None, as_json: bool) -> None:
    """Compute body area over board area from a file of OUTLINES, in mm or on a photo (see docs/identify.md)."""
    from unfasten.cli.identifytext import board_lines, board_photo_lines
    from unfasten.service.boarduse import use_of_board

    if photo is not None:
        from unfasten.service.boardphoto import measure_board_file
        from unfasten.service.camera import load_profiles

        _show(measure_board_file(photo, outlines, load_profiles(lenses)), board_photo_lines, as_json=as_json)
        return
    if lenses is not None:
        raise click.UsageError("--lenses belongs to --photo")
    _show(use_of_board(outlines), board_lines, as_json=as_json)


def _show(answer: _Answer, lines: Any, *, as_json: bool) -> None:
    click.echo(_text(answer) if as_json else "\n".join(lines(answer)))


def _text(answer: _Answer) -> str:
    return json.dumps(answer.as_json(), indent=1, ensure_ascii=False)


def _today() -> date:
    return datetime.now().date()
