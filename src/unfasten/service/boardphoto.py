"""Use of one side of a board from a photo and picks round its outlines, with the scales of `unfasten measure`.

The tree that is asked: `board`, a list of picks [px]; `bodies`, such a list by name; and scale, height, distance and
pointing as for any measurement on a photo.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from unfasten import __version__
from unfasten.evidence.datafile import load_data
from unfasten.evidence.errors import CallError
from unfasten.photo.identify.boardview import BoardView, board_on
from unfasten.photo.identify.outline import Outline, crosses_itself
from unfasten.photo.lensfile import LensProfile
from unfasten.photo.open import Photo, open_photo
from unfasten.photo.plane import Points
from unfasten.record.measurement import Measurement
from unfasten.service.camera import optics_of
from unfasten.service.measureask import read_ask
from unfasten.service.measurefigure import figure
from unfasten.service.measurescale import pointing_of, points_of, scale_of

#: what the readings are called in a record
CALLED: Final = {
    "board": "area of the board",
    "bodies": "area of the bodies",
    "use": "board use",
    "empty": "empty share",
}


@dataclass(frozen=True, slots=True)
class BoardPhoto:
    """The use of a side, on which photo, with which scale."""

    photo: Photo
    found: BoardView
    scale: str
    profile: LensProfile | None
    notes: tuple[str, ...]
    asked: Mapping[str, Any]

    @property
    def lens(self) -> str | None:
        """Name of the lens profile."""
        return None if self.profile is None else self.profile.name

    def measurements(self, part: str | None, side: str) -> list[Measurement]:
        """What a record keeps: areas of board and bodies, use and empty share, of a side of the board."""
        return [
            figure(
                self.photo,
                self.profile,
                one,
                kind="board",
                name=f"{CALLED[one.name]}, {side}",
                of=part,
                recipe={**self.asked, "reading": one.name, "program": __version__},
            )
            for one in self.found.readings
        ]

    def as_json(self) -> dict[str, object]:
        """Give the JSON form."""
        return {
            "photo": {"name": self.photo.facts.name, "sha256": self.photo.sha256},
            "scale": self.scale,
            "lens": self.lens,
            "readings": [reading.as_json() for reading in self.found.readings],
            "says": list(self.found.says),
            "notes": list(self.notes),
        }


def measure_board(
    source: bytes | Photo, name: str, tree: Mapping[str, Any], profiles: Sequence[LensProfile] = ()
) -> BoardPhoto:
    """Measure the use of a side; raises `PhotoError` for the photo, `CallError` for picks or a scale of no use."""
    if not isinstance(tree, Mapping) or not isinstance(tree.get("bodies"), Mapping):
        message = "the outlines are missing"
        raise CallError("photo.picks", "bodies", message, "give picks round the board, and round each body by its name")
    rest = {key: value for key, value in tree.items() if key not in ("board", "bodies", "kind", "readings")}
    board = _outline("board", tree.get("board"))
    bodies = {str(key): _outline(f"bodies.{key}", picks) for key, picks in tree["bodies"].items()}
    ask = read_ask({**rest, "kind": "area", "readings": [board.tolist()]})
    photo = source if isinstance(source, Photo) else open_photo(source, name)
    profile, optics = optics_of(photo, profiles)
    pointing = pointing_of(ask)
    scaled = scale_of(photo, ask, optics, pointing)
    notes = tuple(dict.fromkeys([*(str(remark) for remark in photo.facts.remarks), *scaled.notes]))
    found = board_on(scaled.view, board, bodies, pointing)
    asked = {**ask.recipe(), "board": board.tolist(), "bodies": {key: one.tolist() for key, one in bodies.items()}}
    recipe = {key: value for key, value in asked.items() if key not in ("kind", "readings")}
    return BoardPhoto(photo, found, scaled.kind, profile, notes, recipe)


def measure_board_file(photo: Path, picks: Path, profiles: Sequence[LensProfile] = ()) -> BoardPhoto:
    """The same from files; the picks stand in YAML or JSON."""
    return measure_board(open_photo(photo), photo.name, load_data(picks), profiles)


def _outline(where: str, picks: Any) -> Points:
    points = points_of(picks)
    flat: Outline = [(float(x), float(y)) for x, y in points]
    if len(flat) < 3 or crosses_itself(flat):
        what = "fewer than three picks" if len(flat) < 3 else "edges that cross or touch"
        raise CallError("identify.bad-outline", where, f"it has {what}", "pick the corners in order around")
    return points
