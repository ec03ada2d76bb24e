"""Photographs that are broken, odd or made to do harm: each gets its own clear word, in bounded memory."""

from __future__ import annotations

import contextlib
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from tests.support.patience import PATIENCE_S
from tests.support.photo_files import chunk, exif, heic, jpeg, png, png_of, saved, scene, with_segment, with_size

from unfasten.evidence.errors import CallError
from unfasten.photo.facts import PhotoError, PhotoLimits
from unfasten.photo.open import open_photo
from unfasten.service.photofile import take_photo

MEMORY = 1_000_000_000
PDF = b"%PDF-1.7\n%\xe2\xe3\xcf\xd3\n1 0 obj << >> endobj\n"
ZIP_END = b"PK\x05\x06" + bytes(18)

#: what is wrong -> (how it is made, name, the code that must be told)
REFUSED: dict[str, tuple[Callable[[], bytes], str, str]] = {
    "0 bytes": (lambda: b"", "a.jpg", "photo.empty"),
    "only zero bytes": (lambda: bytes(5000), "a.jpg", "photo.not-a-picture"),
    "noise": (lambda: bytes(range(1, 256)) * 9, "a.jpg", "photo.not-a-picture"),
    "plain text": (lambda: b"part,mass\nframe,92\n", "a.jpg", "photo.not-a-picture"),
    "three bytes": (lambda: b"\xff\xd8\xff", "a.jpg", "photo.truncated"),
    "a JPEG cut by one byte": (lambda: jpeg()[:-1], "a.jpg", "photo.truncated"),
    "half a JPEG": (lambda: jpeg()[: len(jpeg()) // 2], "a.jpg", "photo.truncated"),
    "a JPEG cut in its header": (lambda: jpeg()[:120], "a.jpg", "photo.truncated"),
    "half a JPEG with an end put on": (lambda: jpeg()[: len(jpeg()) // 2] + b"\xff\xd9", "a.jpg", "photo.size-lies"),
    "a JPEG of tables only": (lambda: b"\xff\xd8\xff\xdb\0\x04\0\0\xff\xd9", "a.jpg", "photo.damaged"),
    "a JPEG without a marker": (lambda: b"\xff\xd8\xff\xe0\0\x04ab" + b"xyz" * 9, "a.jpg", "photo.damaged"),
    "a header that says more rows": (lambda: with_size(jpeg(), 320, 400), "a.jpg", "photo.size-lies"),
    "a header that says more columns": (lambda: with_size(jpeg(), 400, 240), "a.jpg", "photo.size-lies"),
    "a header that says fewer rows": (lambda: with_size(jpeg(), 320, 160), "a.jpg", "photo.size-lies"),
    "a header that says fewer columns": (lambda: with_size(jpeg(), 240, 240), "a.jpg", "photo.size-lies"),
    "a progressive JPEG that says more rows": (
        lambda: with_size(saved(scene(), "JPEG", progressive=True), 320, 400),
        "a.jpg",
        "photo.size-lies",
    ),
    "a header far beyond the data": (lambda: with_size(jpeg(), 9000, 9000), "a.jpg", "photo.size-lies"),
    "a header of no pixels": (lambda: with_size(jpeg(), 0, 240), "a.jpg", "photo.damaged"),
    "a JPEG bomb": (lambda: with_size(jpeg(), 65000, 65000), "a.jpg", "photo.too-many-pixels"),
    "a PNG bomb": (lambda: png_of(60_000, 60_000, bytes(10**7)), "a.png", "photo.too-many-pixels"),
    "a PNG whose text explodes": (
        lambda: png_of(9, 9, bytes(252), *[chunk(b"zTXt", b"a\0\0" + _deflated(2 * 10**6))] * 50),
        "a.png",
        "photo.damaged",
    ),
    "half a PNG": (lambda: png()[: len(png()) // 2], "a.png", "photo.truncated"),
    "a PNG with too few rows": (lambda: png_of(64, 64, bytes(193 * 20)), "a.png", "photo.size-lies"),
    "a PNG with a wrong checksum": (lambda: _flipped(png(), 600), "a.png", "photo.damaged"),
    "an animated PNG": (lambda: _animated("PNG"), "a.png", "photo.animated"),
    "an animated GIF": (lambda: _animated("GIF"), "a.gif", "photo.other-format"),
    "WebP": (lambda: saved(scene(), "WEBP"), "a.jpg", "photo.other-format"),
    "AVIF": (lambda: saved(scene(), "AVIF"), "a.heic", "photo.other-format"),
    "TIFF": (lambda: saved(scene(), "TIFF"), "a.jpg", "photo.other-format"),
    "BMP": (lambda: saved(scene(), "BMP"), "a.png", "photo.other-format"),
    "a film": (lambda: b"\0\0\0\x18ftypmp42\0\0\0\0mp42isom" + bytes(99), "a.heic", "photo.other-format"),
    "SVG posing as PNG": (lambda: b'<?xml version="1.0"?>\n<!-- x --><svg xmlns="x"/>', "a.png", "photo.other-format"),
    "HTML posing as JPEG": (lambda: b"\xef\xbb\xbf  <!DOCTYPE html><script>1</script>", "a.jpg", "photo.other-format"),
    "a PDF": (lambda: PDF, "a.jpg", "photo.other-format"),
    "a program": (lambda: b"\x7fELF\x02\x01" + bytes(99), "a.jpg", "photo.other-format"),
    "a JPEG that is a ZIP too": (lambda: jpeg() + b"PK\x03\x04" + bytes(40) + ZIP_END, "a.jpg", "photo.polyglot"),
    "a PNG that is a ZIP too": (lambda: png() + ZIP_END, "a.png", "photo.polyglot"),
    "a JPEG with a page behind it": (lambda: jpeg() + b"\n<HTML><body>", "a.jpg", "photo.polyglot"),
    "a JPEG with a script in a comment": (
        lambda: with_segment(jpeg(), 0xFE, b"*/<?php system(1);"),
        "a.jpg",
        "photo.polyglot",
    ),
    "a JPEG that is a PDF too": (lambda: with_segment(jpeg(), 0xFE, PDF), "a.jpg", "photo.polyglot"),
    "half a HEIC": (lambda: heic()[: len(heic()) // 2], "a.heic", "photo.truncated"),
    "a HEIC cut by one byte": (lambda: heic()[:-1], "a.heic", "photo.truncated"),
    "a HEIC that is a ZIP too": (lambda: heic() + b"PK\x03\x04" + bytes(40) + ZIP_END, "a.heic", "photo.polyglot"),
    "a HEIC sequence without a still": (
        lambda: b"\0\0\0\x18ftyphevc\0\0\0\0msf1hevc" + heic()[24:200],
        "a.heic",
        "photo.animated",
    ),
    "a HEIC of its first box": (lambda: heic()[:60], "a.heic", "photo.damaged"),
}

#: what is odd -> (how it is made, name, the codes of the remarks)
ODD: dict[str, tuple[Callable[[], bytes], str, list[str]]] = {
    "nothing": (jpeg, "a.jpg", []),
    "nothing, in capitals": (jpeg, "A.JPEG", []),
    "no suffix": (png, "photo", []),
    "a JPEG named PNG": (jpeg, "a.png", ["photo.wrong-suffix"]),
    "a HEIC named JPEG": (heic, "a.jpg", ["photo.wrong-suffix"]),
    "a HEIC burst": (lambda: heic(5), "a.heic", ["photo.several-pictures"]),
    "a film behind a JPEG": (lambda: jpeg() + b"\0\0\0\x18ftypmp42" + bytes(range(99)), "a.jpg", ["photo.extra-data"]),
    "bytes behind a HEIC": (lambda: heic() + b"\0\0\0\x03more" * 9, "a.heic", ["photo.extra-data"]),
    "padding behind a JPEG": (lambda: jpeg() + bytes(4096), "a.jpg", []),
    "a list of further pictures": (
        lambda: with_segment(jpeg(), 0xE2, b"MPF\0II*\0\x08\0\0\0\0\0"),
        "a.jpg",
        ["photo.several-pictures"],
    ),
    "EXIF garbage": (
        lambda: saved(scene(), "JPEG", exif=b"Exif\0\0" + bytes(range(99))),
        "a.jpg",
        ["photo.exif-unreadable"],
    ),
    "EXIF that points outside": (
        lambda: saved(scene(), "JPEG", exif=b"Exif\0\0II*\0\xff\xff\xff\x7f"),
        "a.jpg",
        ["photo.exif-unreadable"],
    ),
    "EXIF of another size": (lambda: saved(scene(), "JPEG", exif=exif(size=(4032, 3024))), "a.jpg", ["photo.resized"]),
    "printing colours": (lambda: saved(scene().convert("CMYK"), "JPEG"), "a.jpg", ["photo.cmyk"]),
    "16 bits of grey": (
        lambda: saved(Image.fromarray(np.full((240, 320), 40_000, np.uint16)), "PNG"),
        "a.png",
        ["photo.deep"],
    ),
    "16 bits of colour": (lambda: png_of(32, 24, bytes(193 * 24), depth=16), "a.png", []),
    "an interlaced PNG": (lambda: png_of(5, 5, bytes(75 + 11), interlaced=1), "a.png", []),
    "a PNG packed very tightly": (lambda: saved(Image.new("L", (6000, 4000)), "PNG"), "a.png", []),
    "a palette": (lambda: saved(scene().convert("P"), "PNG"), "a.png", []),
    "a bilevel picture": (lambda: saved(scene().convert("1"), "PNG"), "a.png", []),
    "transparency": (lambda: saved(Image.new("RGBA", (64, 48), (9, 9, 9, 0)), "PNG"), "a.png", []),
    "a progressive JPEG": (lambda: saved(scene(), "JPEG", progressive=True), "a.jpg", []),
    "restart marks": (lambda: saved(scene(), "JPEG", restart_marker_rows=1), "a.jpg", []),
    "an even grey": (lambda: saved(Image.new("RGB", (320, 240), (128, 128, 128)), "JPEG"), "a.jpg", []),
    "an even grey, progressive": (
        lambda: saved(Image.new("RGB", (640, 480), (128, 128, 128)), "JPEG", progressive=True),
        "a.jpg",
        [],
    ),
    "an even white": (lambda: saved(Image.new("L", (1600, 1200), 255), "JPEG"), "a.jpg", []),
    "one pixel": (lambda: saved(Image.new("RGB", (1, 1)), "JPEG"), "a.jpg", []),
}  # fmt: skip


def _deflated(length: int) -> bytes:
    import zlib

    return zlib.compress(bytes(length), 9)


def _flipped(data: bytes, at: int) -> bytes:
    return data[:at] + bytes((data[at] ^ 0xFF,)) + data[at + 1 :]


def _animated(form: str) -> bytes:
    frames = [Image.new("RGB", (32, 32), colour) for colour in ("red", "green", "blue")]
    return saved(frames[0], form, save_all=True, append_images=frames[1:])


@pytest.mark.parametrize("wrong", REFUSED)
def test_what_is_no_usable_photograph_is_refused_in_words(wrong: str) -> None:
    make, name, code = REFUSED[wrong]
    with pytest.raises(PhotoError) as caught:
        take_photo(make(), name)
    error = caught.value
    assert (error.code, error.where) == (code, name)
    assert error.remedy
    assert len(str(error)) < 300
    assert str(error).isprintable()


@pytest.mark.parametrize("odd", ODD)
def test_what_is_odd_but_usable_is_taken_with_a_remark(odd: str) -> None:
    make, name, codes = ODD[odd]
    taken = take_photo(make(), name)
    assert [remark.code for remark in taken.facts.remarks] == codes
    assert all(remark.message and remark.remedy for remark in taken.facts.remarks)
    photo = open_photo(make(), name)
    assert photo.pixels.shape == (photo.height, photo.width, 3)
    assert photo.pixels.dtype == np.uint8


def test_a_lie_is_found_by_whoever_asks_for_the_pixels() -> None:
    for width, height in ((320, 400), (320, 160), (240, 240)):
        with pytest.raises(PhotoError) as caught:
            _ = open_photo(with_size(jpeg(), width, height)).pixels
        assert caught.value.code == "photo.size-lies"


def test_limits_come_before_decoding() -> None:
    for limits, code in (
        (PhotoLimits(bytes=1000), "photo.too-large"),
        (PhotoLimits(pixels=76_799), "photo.too-many-pixels"),
    ):
        with pytest.raises(PhotoError) as caught:
            take_photo(jpeg(), "a.jpg", limits)
        assert caught.value.code == code
    assert take_photo(jpeg(), "a.jpg", PhotoLimits(pixels=76_800)).facts.width == 320


def test_a_file_larger_than_the_limit_is_not_read_to_its_end(tmp_path: Path) -> None:
    path = tmp_path / "big.jpg"
    with path.open("wb") as file:
        file.truncate(10**12)
    with pytest.raises(PhotoError) as caught:
        open_photo(path, limits=PhotoLimits(bytes=10**6))
    assert caught.value.code == "photo.too-large"
    with pytest.raises(CallError) as missing:
        open_photo(tmp_path / "none.jpg")
    assert missing.value.code == "data.missing-file"


def test_every_cut_of_a_small_photograph_is_refused_in_words() -> None:
    """No length at which a file is cut gives anything but a refusal with a code."""
    for data in (saved(scene(64, 48), "JPEG"), saved(scene(64, 48), "PNG"), heic()[:1500]):
        for length in range(len(data)):
            with pytest.raises(PhotoError):
                take_photo(data[:length], "a")


def test_flipped_bytes_never_end_in_anything_but_a_photograph_or_a_refusal() -> None:
    rng = np.random.default_rng(11)
    for data in (saved(scene(64, 48), "JPEG", exif=exif(taken="2026:03:02 10:11:12")), saved(scene(64, 48), "PNG")):
        for _ in range(400):
            bad = bytearray(data)
            for place in rng.integers(2, min(len(data), 700), 3):
                bad[place] = rng.integers(0, 256)
            with contextlib.suppress(PhotoError):
                photo = open_photo(bytes(bad))
                assert photo.pixels.shape == (photo.height, photo.width, 3)


def test_48_megapixels_take_less_than_a_gigabyte(tmp_path: Path) -> None:
    path = tmp_path / "large.jpg"
    scene(8000, 6000).save(path, "JPEG", quality=90, exif=exif(orientation=6, size=(8000, 6000)))
    # VmHWM is this process's own; ru_maxrss would carry over what the test runner itself once took (fork and exec).
    code = (
        "import re, sys\n"
        "from unfasten.photo.open import open_photo\n"
        "from unfasten.service.photofile import take_photo\n"
        "photo = open_photo(sys.argv[1]); taken = take_photo(photo.data, 'a.jpg')\n"
        "assert photo.pixels.shape == (8000, 6000, 3) == (photo.height, photo.width, 3)\n"
        "print(int(re.search(r'VmHWM:\\s+(\\d+) kB', open('/proc/self/status').read())[1]) * 1024)\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", code, str(path)], capture_output=True, text=True, check=True, timeout=PATIENCE_S
    )
    assert int(done.stdout) < MEMORY
