"""Speed, memory and honesty of measuring on photos: `python benchmarks/bench_photo.py [photos]`.

Wanted: a photo of 12 megapixels found, corrected and rectified in under 0.5 s; the photo of a laid-out mat turned into
a table in under 2 s; under 1 GB for 48 megapixels; and 95 % intervals that hold the truth in 93 to 97 of 100 cases, on
rendered photographs (`photos`, 600 unless given; a dozen things are measured on each). Times are best of three, beside
plain calls of the vision library on the same photo, so that they can be compared as ratios. The library is held to one
thread.
"""

from __future__ import annotations

import io
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from pathlib import Path

import cv2
import numpy as np
from PIL import Image

from unfasten.photo.lens import Lens
from unfasten.photo.markers import dictionary, find_mat
from unfasten.photo.mat import Box, mat_of
from unfasten.photo.parts import find_parts
from unfasten.photo.rectify import rectify
from unfasten.photo.rendered import PAPER, camera_over, mat_sheet, photograph
from unfasten.photo.scale import Object, Optics, Scaled, mat_scale, scaled
from unfasten.photo.trial import Case, run, share

WIDTH, HEIGHT = 4032, 3024
LENS = Lens(WIDTH, HEIGHT, (3029.0, 3029.0, 2010.0, 1520.0, -0.10, 0.04, 4e-4, -3e-4, 0.0), np.eye(9) * 1e-10)
WHOLE = Box(0.0, 0.0, 297.0, 210.0)
RUNS = 3
SEED = 2026
#: photos of one seed, and processes that render them
SHIFT = 20
WORKERS = 2


def photo() -> np.ndarray:
    """Twelve parts on the mat, 12 megapixels."""
    sheet = mat_sheet(mat_of("A4"), 16.0)
    rng = np.random.default_rng(1)
    for number in range(12):
        x, y = 45 + 40 * (number % 6), 50 + 50 * (number // 6)
        width, height = rng.uniform(12, 30), rng.uniform(8, 30)
        corners = np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]]) * [width / 2, height / 2] + [x, y]
        sheet.polygon(corners, float(rng.uniform(0.03, 0.4)))
        sheet.disc((x - width / 4, y), 3.0, PAPER)
    return photograph([sheet], camera_over(LENS, (148.5, 105.0), 270.0, 15.0, 30.0, 3.0), rng, fine=1)


def best(what: Callable[[], object]) -> float:
    """Shortest processor time of a few runs [s]."""
    times = []
    for _ in range(RUNS):
        start = time.process_time()
        what()
        times.append(time.process_time() - start)
    return min(times)


def view_of(grey: np.ndarray) -> Scaled:
    """Found and corrected."""
    seen = find_mat(grey)
    return scaled(mat_scale(seen.px, seen.mm, [(100.0, 0.1)], 100.0), Optics(WIDTH, HEIGHT, LENS), Object())


def plain_found(grey: np.ndarray) -> object:
    """Markers by the library at full size, corners refined by it."""
    parameters = cv2.aruco.DetectorParameters()
    parameters.cornerRefinementMethod = cv2.aruco.CORNER_REFINE_SUBPIX
    return cv2.aruco.ArucoDetector(dictionary(cv2), parameters).detectMarkers(grey)


def plain_rectified(colour: np.ndarray, view: Scaled) -> object:
    """The library's undistort, then its warp: two resamplings."""
    straight = cv2.undistort(colour, LENS.matrix, np.array(LENS.numbers[4:]))
    grow = np.diag([10.0, 10.0, 1.0])
    return cv2.warpPerspective(straight, grow @ view.view.plane.px_mm, (2970, 2100))


def speed() -> None:
    """Print the table of times."""
    grey = photo()
    colour = cv2.merge([grey] * 3)
    view = view_of(grey)
    field = mat_of("A4").field
    found, corrected = best(lambda: find_mat(grey)), best(lambda: view_of(grey))
    flat = best(lambda: rectify(colour, view.view, WHOLE, 10.0))
    library, warp = best(lambda: plain_found(grey)), best(lambda: plain_rectified(colour, view))
    table = best(lambda: find_parts(colour, grey, view_of(grey).view, field))
    parts = find_parts(colour, grey, view.view, field)
    print("| 12-megapixel photo of the mat | processor time [s] | plain library calls [s] | ratio | limit [s] |")
    print("| --- | ---: | ---: | ---: | ---: |")
    print(
        f"| markers found, corners to a fraction of a pixel | {found:.2f} | {library:.2f} | {found / library:.2f} | |"
    )
    print(f"| found, and lens, plane and budget worked out | {corrected:.2f} | | | |")
    print(f"| rectified at 10 px/mm, lens and tilt at once | {flat:.2f} | {warp:.2f} | {flat / warp:.2f} | |")
    both, plain = corrected + flat, library + warp
    print(f"| found, corrected and rectified | {both:.2f} | {plain:.2f} | {both / plain:.2f} | 0.5 |")
    print(f"| table of {len(parts)} parts with all budgets | {table:.2f} | | | 2.0 |")


# VmHWM is the process's own; ru_maxrss would carry over what its parent once took (fork and exec).
CHILD = """
import re, sys
from pathlib import Path
from unfasten.service.measure import measure_photo
table = measure_photo(Path(sys.argv[1]).read_bytes(), "large.jpg", {"kind": "parts"})
peak = re.search(r"VmHWM:\\s+(\\d+) kB", Path("/proc/self/status").read_text())[1]
print(len(table.parts), int(peak) // 1024)
"""


def memory() -> None:
    """Print the most memory that a 48-megapixel photo took, in a process of its own."""
    large = cv2.resize(photo(), (2 * WIDTH, 2 * HEIGHT), interpolation=cv2.INTER_CUBIC)
    out = io.BytesIO()
    Image.fromarray(large).convert("RGB").save(out, "JPEG", quality=90)
    del large
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "large.jpg"
        path.write_bytes(out.getvalue())
        done = subprocess.run([sys.executable, "-c", CHILD, str(path)], capture_output=True, text=True, check=True)
    parts, peak = done.stdout.split()
    print(f"\n48 megapixels, opened and turned into a table of {parts} parts: {peak} MB at most; limit 1000 MB")
    print(f"(this process itself: {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024} MB)")


SCALES = ("mat", "card", "rectangle", "length")


def told(cases: Sequence[Case]) -> str:
    """How many of the intervals hold the truth, with its standard error [%], and of how many."""
    if not cases:
        return "-"
    held, doubt = share(cases)
    return f"{100 * held:.1f} ± {100 * doubt:.1f} ({len(cases)})"


def trial(task: tuple[int, int, bool]) -> list[Case]:
    """So many photos of one seed."""
    photos, seed, profile = task
    cv2.setNumThreads(1)
    return [replace(case, photo=case.photo + 1_000_000 * seed) for case in run(photos, seed, profile=profile)]


def honesty(photos: int) -> None:
    """Print how often the stated intervals hold the truth, by scale and by what was measured."""
    start = time.perf_counter()
    tasks = [(SHIFT, SEED + number, True) for number in range(-(-photos // SHIFT))]
    with ProcessPoolExecutor(WORKERS) as pool:
        cases = [case for part in pool.map(trial, tasks) for case in part]
        bare = [case for part in pool.map(trial, [(*task[:2], False) for task in tasks[:5]]) for case in part]
    took = time.perf_counter() - start
    print(f"\n| measured on {len(tasks) * SHIFT} photos, from seed {SEED} | all scales | {' | '.join(SCALES)} |")
    print(f"| --- | {' | '.join(['---:'] * (len(SCALES) + 1))} |")
    rows = {kind: [c for c in cases if c.kind == kind] for kind in sorted({c.kind for c in cases})}
    rows |= {
        "picks over the plane of the scale": [c for c in cases if c.raised],
        **{f"tilt {low} to {low + 10}°": [c for c in cases if low <= c.tilt < low + 10] for low in range(0, 40, 10)},
        "all": cases,
        f"all, {SHIFT * len(tasks[:5])} other photos without a lens profile": bare,
    }
    for name, part in rows.items():
        print(f"| {name} | {told(part)} | {' | '.join(told([c for c in part if c.scale == s]) for s in SCALES)} |")
    print(f"\n{len(cases)} cases in {took:.0f} s; wanted: 93 to 97 % of all")


def main() -> None:
    """Print all tables."""
    cv2.setNumThreads(1)
    speed()
    memory()
    honesty(int(sys.argv[1]) if len(sys.argv) > 1 else 600)


if __name__ == "__main__":
    main()
