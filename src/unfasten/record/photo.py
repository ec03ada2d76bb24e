"""Photos of the record and the call-outs on them.

How the web room uses it: a photo is a `put` at `photos.p-001`; its file is in the workspace under its SHA-256. A
call-out is drawn at whole pixels of the upright photo (turned as its Exif orientation says), counted from the top left
corner.
"""

from __future__ import annotations

from collections.abc import Iterator
from types import MappingProxyType
from typing import Annotated, Any, Final, Literal

from pydantic import Field, StrictInt, StringConstraints

from unfasten.evidence.place import Path, shown
from unfasten.record.place import Remark
from unfasten.record.references import entries, mapping, sequence
from unfasten.record.types import Clock, Noun, Text

Letter = Annotated[str, StringConstraints(pattern=r"^[A-Z]{1,2}$")]
Sha256 = Annotated[str, StringConstraints(pattern=r"^[0-9a-f]{64}$")]
Pixel = Annotated[StrictInt, Field(ge=0, le=100_000)]
Shape = Literal["point", "line", "box", "outline"]
#: shape -> fewest and most corners; a box is given by two that lie opposite
CORNERS: Final = MappingProxyType({"point": (1, 1), "line": (2, 2), "box": (2, 2), "outline": (3, 1000)})
_ABOUT: Final = ("joints", "parts", "bundles", "swings", "tools")


class CallOut(Noun):
    """A lettered mark on a photo: shape, corners [pixel], what it is about (`joints.back-screws`) and a remark."""

    shape: Shape
    corners: tuple[tuple[Pixel, Pixel], ...] = Field(min_length=1, max_length=1000)
    about: Text | None = None
    text: Text | None = None


class Photo(Noun):
    """A photo: SHA-256 of its file, size of the upright picture [pixel], when it was taken, and its call-outs.

    `taken` is the camera's own time (ISO 8601), `at` the film's, which may be set by hand.
    """

    file: Sha256
    name: Text | None = None
    width: Pixel | None = None
    height: Pixel | None = None
    taken: Text | None = None
    at: Clock | None = None
    by: Text | None = None
    text: Text | None = None
    call_outs: dict[Letter, CallOut] = Field(default_factory=dict)


def photo_remarks(tree: Any) -> Iterator[Remark]:
    """Yield a remark for each call-out whose corners do not make its shape, or which is about nothing."""
    for path, photo in entries(tree, "photos"):
        for letter, node in mapping(photo.get("call_outs")).items():
            here, call_out = (*path, "call_outs", letter), mapping(node)
            yield from _corners(here, call_out)
            yield from _about(tree, here, call_out)


def _corners(path: Path, call_out: dict[str, Any]) -> Iterator[Remark]:
    shape, count = call_out.get("shape"), len(sequence(call_out.get("corners")))
    if not isinstance(shape, str) or shape not in CORNERS or not count:
        return
    fewest, most = CORNERS[shape]
    if not fewest <= count <= most:
        message = f"a {shape} has {count} corner{'' if count == 1 else 's'}"
        mend = f"give {fewest}" if fewest == most else f"give {fewest} to {most}"
        yield Remark((*path, "corners"), "record.wrong-length", message, mend)


def _about(tree: Any, path: Path, call_out: dict[str, Any]) -> Iterator[Remark]:
    about = call_out.get("about")
    if not isinstance(about, str) or not about:
        return
    section, _, name = about.partition(".")
    if section not in _ABOUT or name not in mapping(mapping(tree).get(section)):
        mend = f"name something that is defined, such as joints.ID ({', '.join(_ABOUT)})"
        yield Remark((*path, "about"), "record.unknown-name", f"there is no {shown(about)}", mend)
