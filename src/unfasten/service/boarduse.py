"""Board use from a file of outlines: strictly read, every problem at once, then computed.

format: unfasten-board/1
views: {front-photo: {scale_u: 0.15 %, edge_u: 0.02 mm}}    # standard uncertainties of scale and edges
sides:
  front:
    board: {view: front-photo, outline: [[0, 0], [60, 0], [60, 30], [0, 30]], u: 0.05 mm}
    bodies:
      flash: {size: 11.5 x 13.0 ± 0.03 mm}                  # measured by hand: no view
      coil:  {view: front-photo, outline: [[2, 2], [9, 2], [9, 9], [2, 9]], u: 0.03 mm}
      capacitor: {view: front-photo, size: 1.0 x 0.5 ± 0.02 mm, count: 46}
"""

from __future__ import annotations

import re
from fractions import Fraction
from pathlib import Path
from typing import Final

from unfasten.evidence.datafile import read_data
from unfasten.evidence.errors import CallError
from unfasten.evidence.fields import Fields, Sheaf, unknown_remedy
from unfasten.evidence.filebytes import read_limited
from unfasten.evidence.interval import exact
from unfasten.evidence.place import Path as Place
from unfasten.evidence.place import shown
from unfasten.evidence.quantity import QuantityError, parse
from unfasten.photo.identify.boarduse import BoardUse, Body, Side, View, board_use
from unfasten.photo.identify.outline import area, crosses_itself
from unfasten.photo.identify.packages import read_size

FORMAT: Final = "unfasten-board/1"
#: most corners of an outline, and most bodies of a side
MOST_CORNERS: Final = 500
MOST_BODIES: Final = 5000
_PERCENT: Final = re.compile(r"(\d{1,3}(?:\.\d{1,6})?) ?%", re.ASCII)


def use_of_board(path: Path) -> BoardUse:
    """Read a file of outlines and compute the use of the board.

    Raises `InvalidFileError` with every problem of the file, `CallError` where there is no such file.
    """
    document = read_data(read_limited(path), path.name)
    sheaf = Sheaf(path.name, document, list(document.problems))
    sheaf.close()
    sides = _sides(document.value, sheaf)
    sheaf.close()
    return board_use(sides)


def _sides(data: object, sheaf: Sheaf) -> list[Side]:
    top = Fields(data, (), sheaf, ("format", "views", "sides"))
    if top.has("format") and top.data["format"] != FORMAT:
        top.wrong("format", FORMAT)
    top.text("format")
    pairs = top.pairs("views") if top.has("views") else ()
    views = {name: _view(name, item, place, sheaf) for place, name, item in pairs}
    sides = [_side(name, item, place, sheaf, views) for place, name, item in top.pairs("sides")]
    if len(sides) > 2:
        sheaf.add(
            "data.out-of-range", ("sides",), f"a board has two sides, not {len(sides)}", "use a file for each board"
        )
    return sides


def _view(name: str, data: object, place: Place, sheaf: Sheaf) -> View:
    fields = Fields(data, place, sheaf, ("scale_u", "edge_u"))
    found = _PERCENT.fullmatch(fields.text("scale_u"))
    if found is None and fields.has("scale_u"):
        fields.wrong("scale_u", "a relative standard uncertainty with its sign, such as 0.15 %")
    edge = _length(fields, "edge_u") if fields.has("edge_u") else 0.0
    return View(name, float(found[1]) / 100 if found else 0.0, edge)


def _side(name: str, data: object, place: Place, sheaf: Sheaf, views: dict[str, View]) -> Side:
    fields = Fields(data, place, sheaf, ("board", "bodies"))
    board = _body(
        f"board ({name})", fields.data.get("board"), (*place, "board"), sheaf, views, ("view", "outline", "size", "u")
    )
    empty = fields.data.get("bodies") in ([], {})
    pairs = [] if empty else list(fields.pairs("bodies"))
    if len(pairs) > MOST_BODIES:
        message = f"{len(pairs)} bodies are more than {MOST_BODIES}"
        sheaf.add("data.too-large", (*place, "bodies"), message, "give equal bodies once, with their count")
        pairs = []
    keys = ("view", "outline", "size", "u", "count")
    return Side(name, board, tuple(_body(f"{key} ({name})", item, at, sheaf, views, keys) for at, key, item in pairs))


def _body(name: str, data: object, place: Place, sheaf: Sheaf, views: dict[str, View], keys: tuple[str, ...]) -> Body:
    fields = Fields(data, place, sheaf, keys)
    view = _known_view(fields, views) if fields.has("view") else None
    count = _count(fields) if fields.has("count") else 1
    if fields.has("size") == fields.has("outline"):
        sheaf.add("data.missing-key", place, "either an outline or a size is wanted", "write one of the two")
        return Body(name, 0.0)
    if fields.has("size"):
        return _sized(name, fields, view, count)
    return Body(name, _length(fields, "u"), _outline(fields), view=view, count=count)


def _sized(name: str, fields: Fields, view: View | None, count: int) -> Body:
    try:
        one, other = read_size(fields.text("size"))
    except CallError as error:
        fields.sheaf.add(error.code, (*fields.path, "size"), error.message, error.remedy)
        return Body(name, 0.0)
    return Body(name, one.u, sides=(one.value, other.value), sides_u=(one.u, other.u), view=view, count=count)


def _known_view(fields: Fields, views: dict[str, View]) -> View | None:
    name = fields.text("view")
    if name and name not in views:
        remedy = unknown_remedy(name, tuple(views)) if views else "add it under views"
        fields.sheaf.add("data.unknown-word", (*fields.path, "view"), f"no view {shown(name)}", remedy)
    return views.get(name)


def _count(fields: Fields) -> int:
    number = fields.data["count"]
    if isinstance(number, bool) or not isinstance(number, int) or not 1 <= number <= MOST_BODIES:
        fields.wrong("count", f"a whole number from 1 to {MOST_BODIES}")
        return 1
    return number


def _length(fields: Fields, key: str) -> float:
    """A length [mm]; 0 where there is a problem."""
    if not fields.has(key):
        fields.text(key)  # notes that it is missing
        return 0.0
    try:
        return float(parse(fields.data[key], "length").si)
    except QuantityError as error:
        fields.sheaf.add("identify.no-length", (*fields.path, key), str(error), "write it as '0.05 mm'")
        return 0.0


def _outline(fields: Fields) -> tuple[tuple[float, float], ...]:
    corners = []
    for place, item in fields.items("outline"):
        try:
            x, y = (exact(value) for value in item)  # type: ignore[attr-defined]
        except (TypeError, ValueError):
            fields.sheaf.add("data.wrong-kind", place, f"{shown(item)} is no corner", "write [x, y] in mm")
            continue
        corners.append(_corner(x, y))
    problem = _not_simple(corners)
    if problem and not fields.sheaf.problems:
        fields.sheaf.add("identify.bad-outline", (*fields.path, "outline"), problem, "list the corners in order around")
    return tuple(corners)


def _corner(x: Fraction, y: Fraction) -> tuple[float, float]:
    return float(x), float(y)


def _not_simple(corners: list[tuple[float, float]]) -> str:
    if len(corners) < 3:
        return "an outline has at least three corners"
    if len(corners) > MOST_CORNERS:
        return f"{len(corners)} corners are more than {MOST_CORNERS}"
    if area(corners) == 0:
        return "the corners lie in one line"
    return "two edges of the outline cross or touch" if crosses_itself(corners) else ""
