"""Characters that the fonts bundled with the PDF engine can draw; others are printed as an empty square.

The HTML rendering shows every character, as far as the reader's fonts go. The ranges were found by trying every
character below U+3000; a test tries them again. Scripts of East Asia and emoji are not among them.
"""

from __future__ import annotations

import re
import unicodedata
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
#: what is left where even the ranges fail: Latin letters and the punctuation that the report itself uses
_BEYOND_LATIN: Final = re.compile(r"[^\x20-\x7e\xa0-\u017f\u2013\u2014\u2018-\u201d\u2026\u00d7\u25a1\ufffd]")
_LONG: Final = re.compile(rf"[^\s{BREAK}]{{{RUN}}}(?=\S)")
_HYPHEN: Final = re.compile(r"(?<=[a-z0-9])([-.])(?=[a-z])")


def drawable(text: str) -> str:
    """Give composed text in which every character outside the fonts, and every stacked accent, is an empty square."""
    shown, before = [], ""
    for char in _OUTSIDE.sub(SQUARE, unicodedata.normalize("NFC", text)):
        mark = unicodedata.combining(char) > 0
        shown.append(SQUARE if mark and (not before.isalpha()) else char)
        before = "" if mark else char
    return "".join(shown)


def latin(text: str) -> str:
    """Give text of Latin letters and plain punctuation only; every other character is an empty square."""
    return _BEYOND_LATIN.sub(SQUARE, text)


def printable(text: str) -> str:
    """Give drawable text with invisible places to break in long runs, so that no cell of a table overflows."""
    return breakable(drawable(text))


def breakable(text: str) -> str:
    """Put invisible places to break into long runs and behind the hyphens and dots of ids."""
    return _LONG.sub(lambda found: found[0] + BREAK, _HYPHEN.sub(rf"\1{BREAK}", text))
