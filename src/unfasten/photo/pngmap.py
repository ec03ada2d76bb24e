"""The chunks of a PNG (ISO/IEC 15948): where the file ends, and whether it holds as many rows as its header says."""

from __future__ import annotations

import zlib
from collections.abc import Iterator
from typing import Final

from unfasten.photo.facts import PhotoError
from unfasten.photo.jpegmap import cut_short

#: samples of a pixel by colour type (ISO/IEC 15948, 11.2.2)
_SAMPLES: Final = {0: 1, 2: 3, 3: 1, 4: 2, 6: 4}
#: first column, first row, column step, row step of the passes of an interlaced picture (8.2)
_PASSES: Final = ((0, 0, 8, 8), (4, 0, 8, 8), (0, 4, 4, 8), (2, 0, 4, 4), (0, 2, 2, 4), (1, 0, 2, 2), (0, 1, 1, 2))
_PIECE: Final = 1 << 16


def chunks(data: bytes) -> Iterator[tuple[bytes, int, int]]:
    """Kind, start and end of the content of every chunk; raises `PhotoError` if there is no end chunk."""
    at = 8
    while at + 12 <= len(data):
        kind, start = data[at + 4 : at + 8], at + 8
        end = start + int.from_bytes(data[at : at + 4], "big")
        if end + 4 > len(data):
            break
        yield kind, start, end
        if kind == b"IEND":
            return
        at = end + 4
    raise cut_short()


def png_end(data: bytes) -> int:
    """The place behind the last chunk [byte]."""
    return max(end for _, _, end in chunks(data)) + 4


def check_rows(data: bytes) -> None:
    """Raise `PhotoError` if the coded data does not hold all rows of the header: a decoder would leave them black."""
    parts = [(kind, data[start:end]) for kind, start, end in chunks(data) if kind in (b"IHDR", b"IDAT")]
    if not parts or parts[0][0] != b"IHDR" or len(parts[0][1]) != 13:
        raise PhotoError("photo.damaged", "", "the PNG has no header", "copy it from the camera again")
    wanted = _raw_length(parts[0][1])
    if _inflated(b"".join(part for kind, part in parts if kind == b"IDAT"), wanted) < wanted:
        message = "the header says more rows or columns than the file holds"
        raise PhotoError("photo.size-lies", "", message, "copy it from the camera again")


def _raw_length(header: bytes) -> int:
    """Bytes of the filtered rows of all passes."""
    width, height = int.from_bytes(header[:4], "big"), int.from_bytes(header[4:8], "big")
    bits = header[8] * _SAMPLES.get(header[9], 1)
    total = 0
    for column, row, across, down in _PASSES if header[12] else ((0, 0, 1, 1),):
        columns, rows = max(0, -(-(width - column) // across)), max(0, -(-(height - row) // down))
        total += rows * (1 + -(-columns * bits // 8)) if columns else 0
    return total


def _inflated(packed: bytes, most: int) -> int:
    """How many bytes the stream gives, counted no further than `most`; pieces are thrown away."""
    stream, total, whole = zlib.decompressobj(), 0, memoryview(packed)
    try:
        for start in range(0, len(packed), _PIECE):
            rest: bytes | memoryview = whole[start : start + _PIECE]
            while rest and total < most and not stream.eof:
                total += len(stream.decompress(rest, 16 * _PIECE))
                rest = stream.unconsumed_tail
        if total < most:
            total += len(stream.flush())  # what was still held back
    except zlib.error as error:
        raise PhotoError("photo.damaged", "", f"the picture cannot be decoded ({error})", "copy it again") from error
    return total
