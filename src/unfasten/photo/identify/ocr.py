"""Reading markings on packages with an optical reader that runs offline (its models are inside its package).

A picture is evened out (CLAHE), enlarged twice and read in the turns in which text can stand; the turn with the most
confidently read characters is kept. Then it is read once more with its shades set against those around them, which
shows faint prints; the better of both readings is proposed, and where they differ the line says so. A misread character
can score as high as a right one, so a reading is a proposal: it is shown beside its crop, and counts only once a person
has confirmed it (`confirmation.py`).
"""

from __future__ import annotations

import threading
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING, Any, Final

from unfasten.evidence.errors import CallError

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Pixels = NDArray[np.uint8]

#: longest side that is given to the reader [px], and the least side of a region
LONGEST: Final = 2000
SMALLEST: Final = 16
_CLIP: Final = 3.0
_TILES: Final = (8, 8)
_ENLARGE: Final = 2.0
#: a line turned on its side is taller than this many times its width
_UPRIGHT: Final = 1.2
#: share of pixels below the shade that becomes black, and below the one that becomes white [%]
_SHADES: Final = (1.0, 99.8)
#: smoothing [px, and share of the longest side], and the width of what counts as around [share of the longest side]
_SOFTEN: Final = 1.2
_SOFTEN_SHARE: Final = 0.0015
_AROUND: Final = 0.15
#: the shade of what is as bright as its surroundings, and shades for one standard deviation off
_MIDDLE: Final = 128
_STEEP: Final = 45
_READING: Final = threading.Lock()


@dataclass(frozen=True, slots=True)
class Box:
    """A region of a photograph [px]: left, top, width, height."""

    x: int
    y: int
    width: int
    height: int

    def within(self, width: int, height: int) -> Box:
        """The part of it inside a picture of this size; `CallError` if nothing worth reading is left."""
        left, top = max(0, self.x), max(0, self.y)
        right, bottom = min(width, self.x + self.width), min(height, self.y + self.height)
        if min(right - left, bottom - top) < SMALLEST:
            where = f"region {self.x},{self.y},{self.width},{self.height}"
            message = f"less than {SMALLEST} px of it lie inside the photograph of {width} x {height} px"
            raise CallError("identify.bad-region", where, message, "mark the package anew, as left,top,width,height")
        return Box(left, top, right - left, bottom - top)

    def as_json(self) -> list[int]:
        """Left, top, width, height."""
        return [self.x, self.y, self.width, self.height]


@dataclass(frozen=True, slots=True)
class Line:
    """A line as it was read: `score` (0 to 1) is the reader's own, no probability; `box` is its place in the photo.

    `other` is what it reads with the picture prepared otherwise, where that differs.
    """

    text: str
    score: float
    box: Box
    other: str = ""


@dataclass(frozen=True, slots=True)
class MarkingReading:
    """Lines from top to bottom as the marking stands upright after `turned` degrees clockwise. Not confirmed."""

    region: Box
    turned: int
    lines: tuple[Line, ...]
    says: tuple[str, ...] = ()

    def as_json(self) -> dict[str, object]:
        """Everything in JSON; `confirmed` is always false here."""
        return {
            "region": self.region.as_json(),
            "turned_deg": self.turned,
            "lines": [
                {
                    "text": line.text,
                    "score": round(line.score, 3),
                    "box": line.box.as_json(),
                    "other": line.other or None,
                }
                for line in self.lines
            ],
            "confirmed": False,
            "says": list(self.says),
        }


def read_marking(pixels: Pixels, region: Box | None = None) -> MarkingReading:
    """Read the marking in a region of an upright photograph, shape (height, width, 3), blue, green, red.

    Raises `CallError` if the extra `photo` is not installed or the region lies outside.
    """
    height, width = pixels.shape[:2]
    part = (region or Box(0, 0, width, height)).within(width, height)
    inside = pixels[part.y : part.y + part.height, part.x : part.x + part.width]
    grey, scale = _prepared(inside)
    best = max(_turns(grey), key=lambda turn: turn.points)
    against = _against_around(inside, scale)
    again = _read(against, best.quarters) if best.lines else max(_turns(against), key=lambda turn: turn.points)
    if again.points > best.points:
        best, again = again, best
    placed = tuple(
        Line(line.text, line.score, _placed(line.box, scale, part), _otherwise(line, again.lines))
        for line in best.lines
    )
    says = ["a reading is a proposal: compare it with the crop and confirm it"]
    says += [f"read in two ways: {line.text} or {line.other}" for line in placed if line.other]
    if not placed:
        says = ["nothing was read: light the package from the side, or mark it more closely"]
    elif scale < 1:
        says.append("the region is large and was read at reduced size: mark one package at a time")
    return MarkingReading(part, 90 * best.quarters, placed, tuple(says))


def crop(pixels: Pixels, box: Box, turned: int = 0, margin: int = 4) -> bytes:
    """The picture of a box with a margin [px], turned upright, as JPEG: what a person compares the reading with.

    Its shades are spread over the whole range, by one straight line for all pixels, so that dark prints can be seen.
    """
    import cv2
    import numpy as np

    height, width = pixels.shape[:2]
    left, top = max(0, box.x - margin), max(0, box.y - margin)
    part = pixels[top : min(height, box.y + box.height + margin), left : min(width, box.x + box.width + margin)]
    dark, bright = shades(part)
    spread = np.clip((part - dark) * (255 / max(bright - dark, 1.0)), 0, 255).astype(np.uint8)
    done, data = cv2.imencode(".jpg", np.ascontiguousarray(np.rot90(spread, -(turned // 90))))
    if not done:
        raise ValueError(f"the crop {box} cannot be written")
    return bytes(data)


def shades(pixels: Pixels) -> tuple[float, float]:
    """The shades that become black and white where a picture is spread over the whole range [0 to 255]."""
    import numpy as np

    dark, bright = (float(shade) for shade in np.percentile(pixels, _SHADES))
    return dark, bright


@dataclass(frozen=True, slots=True)
class _Turn:
    """What was read with the picture turned so many quarters clockwise; boxes are those of the picture as it was."""

    quarters: int
    lines: tuple[Line, ...]
    upright: bool

    @property
    def points(self) -> float:
        """Characters, each weighted by how far its line's score lies above one half."""
        return sum(len(line.text) * max(0.0, line.score - 0.5) for line in self.lines)


def _turns(grey: Pixels) -> Iterable[_Turn]:
    """Readings in the turns in which text can stand: opposite ones if lines lie level, the two others if they stand."""
    first = _read(grey, 0)
    yield first
    others = (1, 2, 3) if not first.lines else (2,) if first.upright else (1, 3)
    for quarters in others:
        yield _read(grey, quarters)


def _read(grey: Pixels, quarters: int) -> _Turn:
    import numpy as np

    height, width = grey.shape[:2]
    found = _engine_reads(np.ascontiguousarray(np.rot90(grey, -quarters)))
    level = [(corners, text, score) for corners, text, score in found if not _stands(corners)]
    lines = tuple(Line(text, score, _back(corners, quarters, width, height)) for corners, text, score in level)
    return _Turn(quarters, lines, 2 * len(level) >= len(found))


def _engine_reads(grey: Pixels) -> list[tuple[Any, str, float]]:
    """Corners, text and score of every line, from top to bottom."""
    import cv2

    with _READING:
        found = _engine()(cv2.cvtColor(grey, cv2.COLOR_GRAY2BGR), use_cls=False)
    if found.txts is None or found.boxes is None:
        return []
    return [(box, text, float(score)) for box, text, score in zip(found.boxes, found.txts, found.scores, strict=True)]


@cache
def _engine() -> Any:
    """The reader; its models are read once."""
    try:
        from rapidocr import RapidOCR
    except ModuleNotFoundError as error:
        remedy = "install the extra `photo`"
        message = "reading markings needs a library that is not installed"
        raise CallError("identify.reader-missing", "", message, remedy) from error
    # never enlarged again: lines of a narrow region would become too large to be found
    sizes = {"Global.max_side_len": LONGEST, "Det.limit_type": "max", "Det.limit_side_len": LONGEST}
    # one thread: it takes least processor time, and waits for no other under load
    quiet = {"Global.log_level": "error", "EngineConfig.onnxruntime.intra_op_num_threads": 1}
    return RapidOCR(params={**quiet, **sizes})


def _prepared(part: Pixels) -> tuple[Pixels, float]:
    """Evened grey picture, enlarged (or reduced) by the factor that is given back."""
    import cv2
    import numpy as np

    grey = cv2.createCLAHE(_CLIP, _TILES).apply(cv2.cvtColor(part, cv2.COLOR_BGR2GRAY))
    scale = min(_ENLARGE, LONGEST / max(grey.shape))
    how = cv2.INTER_CUBIC if scale > 1 else cv2.INTER_AREA
    return np.asarray(cv2.resize(grey, None, fx=scale, fy=scale, interpolation=how), np.uint8), scale


def _against_around(part: Pixels, scale: float) -> Pixels:
    """Grey picture with every shade set against mean and spread of those around it, sized as by `_prepared`."""
    import cv2
    import numpy as np

    whole = cv2.cvtColor(part, cv2.COLOR_BGR2GRAY)
    reduced = min(scale, 1.0)
    grey = np.asarray(cv2.resize(whole, None, fx=reduced, fy=reduced, interpolation=cv2.INTER_AREA), np.float32)
    longest = max(grey.shape)
    soft = cv2.GaussianBlur(grey, (0, 0), max(_SOFTEN, longest * _SOFTEN_SHARE))
    around = 2 * int(longest * _AROUND / 2) + 1
    off = soft - cv2.blur(soft, (around, around))
    spread = np.sqrt(cv2.blur(off * off, (2 * around - 1, 2 * around - 1))) + 1.0
    flat = np.clip(_MIDDLE + _STEEP * off / spread, 0, 255).astype(np.uint8)
    more = max(scale, 1.0)
    return np.asarray(cv2.resize(flat, None, fx=more, fy=more, interpolation=cv2.INTER_CUBIC), np.uint8)


def _otherwise(line: Line, others: Iterable[Line]) -> str:
    """What stands at the place of a line in another reading, if it differs; empty where nothing was read there."""
    middle = line.box.y + line.box.height / 2, line.box.x + line.box.width / 2
    for other in others:
        box = other.box
        if box.y <= middle[0] <= box.y + box.height and box.x <= middle[1] <= box.x + box.width:
            return "" if other.text == line.text else other.text
    return ""


def _stands(corners: Any) -> bool:
    width, height = (float(corners[:, axis].max() - corners[:, axis].min()) for axis in (0, 1))
    return height > _UPRIGHT * width


def _back(corners: Any, quarters: int, width: int, height: int) -> Box:
    """The box around corners of the turned picture, in the picture before it was turned."""
    spots = [_turned_back(float(x), float(y), quarters, width, height) for x, y in corners]
    left, top = min(x for x, _ in spots), min(y for _, y in spots)
    right, bottom = max(x for x, _ in spots), max(y for _, y in spots)
    return Box(int(left), int(top), round(right - left), round(bottom - top))


def _turned_back(x: float, y: float, quarters: int, width: int, height: int) -> tuple[float, float]:
    return {0: (x, y), 1: (y, height - x), 2: (width - x, height - y), 3: (width - y, x)}[quarters]


def _placed(box: Box, scale: float, part: Box) -> Box:
    return Box(
        part.x + int(box.x / scale), part.y + int(box.y / scale), round(box.width / scale), round(box.height / scale)
    )
