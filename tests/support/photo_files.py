"""Photographs made for tests: honest ones, and ones whose bytes were tampered with."""

from __future__ import annotations

import io
import struct
import zlib
from functools import cache
from typing import Any

import numpy as np
from PIL import Image


@cache
def scene(width: int = 320, height: int = 240) -> Image.Image:
    """A coloured scene without any flat region, the same at every call."""
    noise = np.random.default_rng(7).integers(0, 256, (max(2, height // 8), max(2, width // 8), 3), dtype=np.uint8)
    return Image.fromarray(noise).resize((width, height), Image.Resampling.BICUBIC)


def saved(image: Image.Image, form: str, **how: Any) -> bytes:
    """The bytes of a picture file."""
    out = io.BytesIO()
    image.save(out, form, **how)
    return out.getvalue()


@cache
def jpeg(width: int = 320, height: int = 240, quality: int = 85) -> bytes:
    """An honest JPEG without EXIF."""
    return saved(scene(width, height), "JPEG", quality=quality)


@cache
def png(width: int = 320, height: int = 240) -> bytes:
    """An honest PNG."""
    return saved(scene(width, height), "PNG")


@cache
def heic(pictures: int = 1) -> bytes:
    """A HEIC file with so many pictures, the first one primary."""
    import pillow_heif

    file = pillow_heif.from_pillow(scene())
    for number in range(1, pictures):
        file.add_from_pillow(scene(320 - 16 * number, 240))
    out = io.BytesIO()
    file.save(out)
    return out.getvalue()


def exif(**tags: Any) -> Image.Exif:
    """EXIF of an invented camera; `orientation`, `taken`, `offset`, `focal`, `focal_35`, `size`, `position`."""
    out = Image.Exif()
    out[0x010F], out[0x0110] = "Fellwright", "Fellwright Lens 1"
    out[0x0112] = tags.get("orientation", 1)
    details = out.get_ifd(0x8769)
    for tag, name in ((0x9003, "taken"), (0x9011, "offset"), (0x920A, "focal"), (0xA405, "focal_35")):
        if name in tags:
            details[tag] = tags[name]
    if "size" in tags:
        details[0xA002], details[0xA003] = tags["size"]
    if "position" in tags:
        out.get_ifd(0x8825)[1] = tags["position"]
    return out


def with_size(data: bytes, width: int, height: int) -> bytes:
    """A JPEG whose frame header says another size."""
    at = data.index(b"\xff\xc0" if b"\xff\xc0" in data else b"\xff\xc2")
    return data[: at + 5] + struct.pack(">HH", height, width) + data[at + 9 :]


def with_segment(data: bytes, marker: int, payload: bytes) -> bytes:
    """A JPEG with one more segment behind its start."""
    return data[:2] + bytes((0xFF, marker)) + struct.pack(">H", len(payload) + 2) + payload + data[2:]


def chunk(kind: bytes, payload: bytes) -> bytes:
    """A PNG chunk with its checksum."""
    return struct.pack(">I", len(payload)) + kind + payload + struct.pack(">I", zlib.crc32(kind + payload))


def png_of(
    width: int, height: int, rows: bytes, *more: bytes, depth: int = 8, colour: int = 2, interlaced: int = 0
) -> bytes:
    """A PNG made of its header, further chunks and these compressed rows."""
    head = chunk(b"IHDR", struct.pack(">IIBBBBB", width, height, depth, colour, 0, 0, interlaced))
    return b"\x89PNG\r\n\x1a\n" + head + b"".join(more) + chunk(b"IDAT", zlib.compress(rows, 9)) + chunk(b"IEND", b"")
