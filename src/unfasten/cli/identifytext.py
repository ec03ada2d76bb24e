"""Plain-text forms of what was identified: the set in a table, then what just misses, then what to know."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from unfasten.photo.identify.boarduse import BoardUse, SideUse, Uncertain
from unfasten.photo.identify.datecode import DateCode, Reading
from unfasten.photo.identify.packages import PackageSet
from unfasten.photo.identify.threads import ThreadSet
from unfasten.photo.identify.window import places_for
from unfasten.service.identify import DriveAnswer, MarkingAnswer

if TYPE_CHECKING:
    from unfasten.service.boardphoto import BoardPhoto

_WIDTH = 118
_BASES = {"read": "limits read", "same pitch": "limits of the same pitch", "bracket": "bracket only"}


def thread_lines(answer: ThreadSet) -> list[str]:
    """Threads with pitch and limits."""
    pitch = "pitch not measured" if answer.pitch is None else f"pitch {answer.pitch.text}"
    head = f"diameter {answer.diameter.text}, {pitch}, k = {answer.k:g}"
    rows = [
        (
            t.name,
            t.family,
            f"{t.pitch:.4g}",
            f"{t.limits.low:.3f} to {t.limits.high:.3f}",
            _share(answer.agreement(t)),
            _BASES[t.basis],
        )
        for t in answer.candidates
    ]
    return [
        head,
        *_table(("thread", "family", "pitch [mm]", "outside [mm]", "agrees", ""), rows),
        *_near((thread.name, reason) for thread, reason in answer.near),
        *_bullets([f"told apart: {one}" for one in answer.separations] + list(answer.says)),
    ]


def drive_lines(answer: DriveAnswer) -> list[str]:
    """Drives with their width and screws."""
    found = answer.drives
    head = "width not measured" if found.points is None else f"across points {found.points.text}, k = {found.k:g}"
    rows = [
        (
            d.name,
            "not read" if d.width is None else d.width.text,
            _share(found.agreement(d)),
            d.screw or "-",
            d.source,
        )
        for d in found.candidates
    ]
    return [
        *([answer.lobes] if answer.lobes else []),
        head,
        *_table(("drive", "across points", "agrees", "screw", "source"), rows),
        *_near((f"{drive.name} ({drive.screw or 'no screw noted'})", reason) for drive, reason in found.near),
        *_bullets(found.says),
    ]


def package_lines(answer: PackageSet) -> list[str]:
    """Packages with their size."""
    rows = [
        (
            p.name,
            p.kind,
            f"{p.width:g} x {p.length:g}",
            "" if p.pitch is None else f"{p.pitch:g}",
            _share(answer.agreement(p)),
        )
        for p in answer.candidates
    ]
    return [
        f"body {answer.width.text} by {answer.length.text}, k = {answer.k:g}",
        *_table(("package", "kind", "body [mm]", "pitch [mm]", "agrees"), rows),
        *_near((p.name, f"its body is {p.width:g} x {p.length:g} mm") for p in answer.near),
        *_bullets(answer.says),
    ]


def date_code_lines(answer: DateCode) -> list[str]:
    """Weeks that the code can mean, and those it cannot."""
    form = f", {answer.form}" if answer.form else ""
    return [
        f"{answer.code}{form}, made before {answer.made_before}",
        *[f"  {_week(one)}" for one in answer.readings],
        *([] if answer.readings else ["  no week"]),
        *_near((str(one.year), one.reason) for one in answer.excluded),
        *_bullets(answer.says),
    ]


def marking_lines(answer: MarkingAnswer) -> list[str]:
    """The proposed reading, candidates and date codes."""
    reading = answer.reading
    rows = [(line.text, f"{line.score:.2f}", ",".join(map(str, line.box.as_json()))) for line in reading.lines]
    lines = [
        f"proposed reading, not confirmed; text upright after {reading.turned}° clockwise",
        *_table(("text", "score", "x,y,w,h [px]"), rows),
    ]
    if answer.match is not None:
        found = [(c.part, c.marking, f"{c.similarity:.1f} %", c.read) for c in answer.match.candidates]
        lines += [
            "",
            *_table(("part of the list", "marking", "similarity", "read"), found),
            *_bullets(answer.match.says),
        ]
    for code in answer.date_codes:
        lines.append(f"  {code.code} may be a date code: {'; '.join(_week(one) for one in code.readings)}")
    return [*lines, *_bullets([*reading.says, *map(str, answer.remarks)])]


def board_lines(answer: BoardUse) -> list[str]:
    """Use of each side and of both."""
    lines = [line for side in answer.sides for line in _side_lines(side)]
    for name, share in (("one side", answer.over_one), ("both sides", answer.over_both)):
        if share is not None:
            lines.append(f"bodies of both sides over the area of {name}: {_figure(share.times(100), '%')}")
    return [*lines, *_bullets(answer.says)]


def board_photo_lines(answer: BoardPhoto) -> list[str]:
    """Use of the side on a photo."""
    rows = [(reading.name, reading.text) for reading in answer.found.readings]
    return [
        f"{answer.photo.facts.name}, scale: {answer.scale}",
        *_aligned(rows),
        *_bullets([*answer.found.says, *answer.notes]),
    ]


def _side_lines(side: SideUse) -> list[str]:
    rows = [
        ("  board", _figure(side.board, "mm²")),
        (f"  {side.bodies} bodies", _figure(side.body_area, "mm²")),
        ("  use", _figure(side.share.times(100), "%")),
        ("  empty", _figure(side.empty.times(100), "%")),
    ]
    return [side.name, *_aligned(rows), *_bullets(side.says)]


def _figure(one: Uncertain, unit: str) -> str:
    places = places_for(one.u)
    return f"{one.value:.{places}f} ± {one.u:.{places}f} {unit}"


def _share(percent: float | None) -> str:
    return "-" if percent is None else f"{percent:.0f} %"


def _week(one: Reading) -> str:
    return f"{one.year}, week {one.week}, from Monday {one.monday}"


def _table(head: tuple[str, ...], rows: Sequence[tuple[str, ...]]) -> list[str]:
    return [f"  {line}" for line in _aligned([head, *rows])] if rows else ["  none"]


def _aligned(rows: Sequence[tuple[str, ...]]) -> list[str]:
    """Rows as lines with columns of one width, all to the left."""
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    return ["  ".join(map(str.ljust, row, widths)).rstrip() for row in rows]


def _near(items: Iterable[tuple[str, str]]) -> list[str]:
    return [f"  not {name}: {reason}" for name, reason in items]


def _bullets(texts: Iterable[str]) -> list[str]:
    return [line for text in texts for line in textwrap.wrap(f"- {text}", _WIDTH, subsequent_indent="  ")]
