"""Opening photographs and reading markings: times as ratios to plain library calls, and how much is read.

`python benchmarks/bench_identify.py` prints three tables; `--pictures N` sets how many markings are read (default 30).
Photographs and markings are rendered, so the shares read rank ways of reading and promise nothing of the field.
"""

from __future__ import annotations

import argparse
import io
import sys
import time
from collections.abc import Callable, Sequence
from pathlib import Path

import cv2
import numpy as np
from PIL import Image, ImageOps

sys.path.insert(0, str(Path(__file__).parents[1]))

from tests.support.hard_markings import HARD, hard_picture
from tests.support.marking_pictures import invented_lines, package_picture
from tests.support.photo_files import exif, saved, scene

from unfasten.photo.identify import ocr
from unfasten.photo.open import open_photo, photo_facts
from unfasten.service.photofile import take_photo

ROUNDS = 5


def best(call: Callable[[], object]) -> float:
    """Least processor time of some rounds [s]: the ratios hold on a busy machine too."""
    times = []
    for _ in range(ROUNDS):
        start = time.process_time()
        call()
        times.append(time.process_time() - start)
    return min(times)


def opening() -> None:
    """A 12-megapixel JPEG: facts, small copy and pixels beside what the libraries take for the bare work."""
    data = saved(scene(4032, 3024), "JPEG", quality=92, exif=exif(orientation=6, size=(4032, 3024)))
    array = np.frombuffer(data, np.uint8)

    def library_small() -> None:
        image = Image.open(io.BytesIO(data))
        image.draft("RGB", (480, 480))
        ImageOps.exif_transpose(image).resize((360, 480)).save(io.BytesIO(), "JPEG")

    decode = best(lambda: cv2.imdecode(array, cv2.IMREAD_COLOR))
    small = best(library_small)
    rows = [
        ("decoded and turned by OpenCV", decode, 1.0),
        ("`open_photo(...).pixels`", t := best(lambda: open_photo(data).pixels), t / decode),
        ("`photo_facts`", t := best(lambda: photo_facts(data)), t / decode),
        ("small copy by Pillow, nothing checked", small, 1.0),
        ("`take_photo`: facts, every row checked, small copy", t := best(lambda: take_photo(data, "p.jpg")), t / small),
    ]
    print(f"{len(data) / 1e6:.1f} MB, 12 megapixels\n\n| what | processor time [s] | ratio |\n| --- | ---: | ---: |")
    for name, seconds, ratio in rows:
        print(f"| {name} | {seconds:.3f} | {ratio:.2f} |")


def distance(one: str, other: str) -> int:
    """Single changes between two texts."""
    row = list(range(len(other) + 1))
    for number, char in enumerate(one, 1):
        last, row[0] = row[0], number
        for place, wanted in enumerate(other, 1):
            last, row[place] = row[place], min(row[place] + 1, row[place - 1] + 1, last + (char != wanted))
    return row[-1]


def as_it_is(pixels: np.ndarray) -> list[str]:
    """What the reader gives for the picture as it is, upright."""
    return [text for _, text, _ in ocr._engine_reads(cv2.cvtColor(pixels, cv2.COLOR_BGR2GRAY))]


def prepared(pixels: np.ndarray) -> list[str]:
    """What the reader gives for the picture evened out and enlarged, upright."""
    return [text for _, text, _ in ocr._engine_reads(ocr._prepared(pixels)[0])]


def whole(pixels: np.ndarray) -> list[str]:
    """What `read_marking` gives."""
    return [line.text for line in ocr.read_marking(pixels).lines]


def reading(count: int) -> None:
    """Lines and characters read, and time, beside reading the picture as it is."""
    every = [(invented_lines(np.random.default_rng(1000 + seed)), seed) for seed in range(count)]
    ways: list[tuple[str, Callable[[np.ndarray], list[str]], Sequence[int]]] = [
        ("upright, as it is", as_it_is, (0,)),
        ("upright, evened out and enlarged", prepared, (0,)),
        ("upright, `read_marking`", whole, (0,)),
        ("turned, as it is", as_it_is, (1, 2, 3)),
        ("turned, `read_marking`", whole, (1, 2, 3)),
    ]
    print(f"\n{count} packages, {3 * count} lines\n")
    print("| way | lines read | characters wrong | in order | ratio of time |\n| --- | ---: | ---: | ---: | ---: |")
    first = 0.0
    as_it_is(open_photo(package_picture(*every[0])).pixels)
    for name, read, turns in ways:
        right = wrong = characters = in_order = 0
        start = time.process_time()
        for lines, seed in every:
            found = read(open_photo(package_picture(lines, seed, turns[seed % len(turns)])).pixels)
            right += sum(line in found for line in lines)
            in_order += found == list(lines)
            characters += sum(map(len, lines))
            wrong += sum(min([distance(line, other) for other in found], default=len(line)) for line in lines)
        taken = time.process_time() - start
        first = first or taken
        share = f"{100 * wrong / characters:.1f} %"
        print(
            f"| {name} | {right} of {3 * count} | {share} | {in_order} of {count} | {taken / first:.2f} |", flush=True
        )


def tally(lines: Sequence[str], found: Sequence[ocr.Line]) -> tuple[list[str], list[ocr.Line]]:
    """For every line of a marking whether it was read `right`, `wrong` or left `blank`; and the lines read wrong."""
    left = [line for line in found if line.text not in lines]
    told, bad = [], []
    for line in lines:
        if any(one.text == line for one in found):
            told.append("right")
            continue
        near = min(left, key=lambda one: distance(one.text, line), default=None)
        if near is None or distance(near.text, line) > 0.7 * max(len(line), len(near.text)):
            told.append("blank")
            continue
        left.remove(near)
        told.append("wrong")
        bad.append(near)
    return told, bad + left


def hard(count: int) -> None:
    """What becomes of lines on harder pictures, and how sure the reader was of those that are wrong."""
    print(f"\n{count} packages of each kind, {3 * count} lines\n")
    heads = ("picture", "read right", "read wrong", "left blank", "wrong, score over 0.9", "wrong, ways differ")
    print(f"| {' | '.join((*heads, 'right, ways differ'))} |\n| --- | ---: | ---: | ---: | ---: | ---: | ---: |")
    for kind in HARD:
        told: list[str] = []
        sure = differ = doubted = 0
        for seed in range(count):
            lines = invented_lines(np.random.default_rng(3000 + seed))
            found = ocr.read_marking(hard_picture(kind, lines, seed)).lines
            each, bad = tally(lines, found)
            told += each
            sure += sum(line.score > 0.9 for line in bad)
            differ += sum(bool(line.other) for line in bad)
            doubted += sum(bool(line.other) for line in found if line.text in lines)
        shares = " | ".join(f"{100 * told.count(what) / len(told):.0f} %" for what in ("right", "wrong", "blank"))
        wrong, right = told.count("wrong"), told.count("right")
        print(f"| {kind} | {shares} | {sure} of {wrong} | {differ} of {wrong} | {doubted} of {right} |", flush=True)


def main() -> None:
    """Print the tables."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--pictures", type=int, default=30, help="packages whose markings are read")
    parser.add_argument("--hard", action="store_true", help="only the table of harder pictures")
    given = parser.parse_args()
    if not given.hard:
        opening()
        reading(given.pictures)
    hard(given.pictures)


if __name__ == "__main__":
    main()
