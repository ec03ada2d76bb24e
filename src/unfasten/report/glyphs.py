"""Characters that the fonts bundled with the PDF engine can draw; others are printed as an empty square.

The HTML rendering shows every character, as far as the reader's fonts go. The ranges were found by trying every
character below U+3000; a test tries them again. Scripts of East Asia and emoji are not among them.
"""

from __future__ import annotations

import re
from typing import Final

#: first and last code point of each run
RANGES: Final = (
    (0x0020, 0x007E),
    (0x00A0, 0x04FF),
    (0x0531, 0x060C),
    (0x0621, 0x063A),
    (0x0640, 0x0655),
    (0x0660, 0x066D),
    (0x10D0, 0x10FF),
    (0x1E00, 0x200A),
    (0x2010, 0x2027),
    (0x2030, 0x2040),
    (0x2044, 0x2052),
    (0x2054, 0x205F),
    (0x2070, 0x211E),
    (0x2126, 0x2151),
    (0x2153, 0x2184),
    (0x2190, 0x23FF),
    (0x2460, 0x262F),
    (0xFFFD, 0xFFFD),
)
SQUARE: Final = "\u25a1"
#: longest run without a place to break before one is put in
RUN: Final = 18
BREAK: Final = "\u200b"
_OUTSIDE: Final = re.compile(f"[^{''.join(f'{chr(first)}-{chr(last)}' for first, last in RANGES)}]")
_LONG: Final = re.compile(rf"[^\s{BREAK}]{{{RUN}}}(?=\S)")
_HYPHEN: Final = re.compile(r"(?<=[a-z0-9])([-.])(?=[a-z])")


def drawable(text: str) -> str:
    """Give text in which every character outside the fonts is an empty square."""
    return _OUTSIDE.sub(SQUARE, text)


def printable(text: str) -> str:
    """Give drawable text with invisible places to break in long runs, so that no cell of a table overflows."""
    return _LONG.sub(lambda found: found[0] + BREAK, _HYPHEN.sub(rf"\1{BREAK}", drawable(text)))
