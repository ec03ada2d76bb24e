"""How long the routes of realistic records take, and how others do on the same targets.

`python benchmarks/bench_routes.py` measures everything (about five minutes) and writes the tables into
docs/routes-benchmark.md; `--part sizes` (or tied, edit, rivals) measures and writes one table. Times are
processor time of one thread, so that other work on the machine counts for little. Needs the packages of the tests.
"""

from __future__ import annotations

import os
import platform
import random
import sys
import time
from collections.abc import Callable, Iterator
from fractions import Fraction
from pathlib import Path
from statistics import median

import click

ROOT = Path(__file__).parent.parent
sys.path[:0] = [str(ROOT / "tests"), str(ROOT / "benchmarks")]

from realistic import realistic_record  # noqa: E402
from unfasten.record.fold import fold_log  # noqa: E402
from unfasten.record.record import Record  # noqa: E402
from unfasten.routes.keep import Keeper  # noqa: E402
from unfasten.routes.result import By, Reach, Route  # noqa: E402
from unfasten.routes.solve import Solver  # noqa: E402

PAGE = ROOT / "docs" / "routes-benchmark.md"
ORDERS: tuple[By, By] = ("steps", "time")
#: joints -> seeds, nominal budget per route [s], what is promised [s] (all parts, both orders)
SIZES = {
    60: (range(5), 2.0, None),
    100: (range(10), 2.0, 0.1),
    250: (range(5), 2.0, 1.0),
    1000: (range(3), 0.15, 30.0),
}
#: most seconds to spend on a record
MOST_S = 60.0
#: runs of a record with up to 250 joints, of which the quickest counts (others share the machine)
REPEATS = 3
#: what is promised of the proof: the share of routes [%], and the gap of the rest [%]
PROVEN, GAP = 95.0, 2.0
#: the same with unknown covers that tie far parts together
TIED = {100: (range(3), 2.0, None), 250: (range(2), 2.0, None)}
EDITS = 30


def solve_all(record: Record, budget_s: float) -> Iterator[tuple[float, str, Reach | None, Reach | None]]:
    """Time [s], part, and reach by steps and by time; a first item for compiling. Stops when `MOST_S` is used up."""
    began = time.process_time()
    solver = Solver(fold_log(record), "steps", budget_s)
    yield time.process_time() - began, "", None, None
    for name in (name for name, part in record.parts.items() if not part.stays):
        start = time.process_time()
        reaches = [solver.reach(name, by=by) for by in ORDERS]
        yield time.process_time() - start, name, *reaches
        if time.process_time() - began > MOST_S:
            return


def gap(route: Route, by: By) -> float:
    """How far the bound lies below the first cost [%]."""
    first = Fraction(route.steps) if by == "steps" else route.time
    return 0.0 if route.proven or not first else float(100 * (1 - route.bound / first))


def sizes() -> Iterator[str]:
    """Table of all parts by both orders in both worlds."""
    yield from heading()
    for joints, (seeds, budget_s, promised) in SIZES.items():
        for seed in seeds:
            yield row(realistic_record(joints, seed), joints, seed, budget_s, promised)


def tied() -> Iterator[str]:
    """The same table for records whose unknown covers may lie anywhere."""
    yield from heading()
    for joints, (seeds, budget_s, promised) in TIED.items():
        for seed in seeds:
            yield row(realistic_record(joints, seed, anywhere=True), joints, seed, budget_s, promised)


def heading() -> Iterator[str]:
    """The first two lines of a table of sizes."""
    yield "| joints | seed | parts solved | all parts [s] | worst part [s] | proven | largest gap | promised [s] | |"
    yield "| ---: | ---: | ---: | ---: | ---: | ---: | ---: | ---: | --- |"


def row(record: Record, joints: int, seed: int, budget_s: float, promised: float | None) -> str:
    """Measure one record."""
    parts = len(record.parts) - 1
    runs = [list(solve_all(record, budget_s)) for _ in range(REPEATS if joints <= 250 else 1)]
    lines = min(runs, key=lambda run: sum(line[0] for line in run))
    total, solved = sum(line[0] for line in lines), len(lines) - 1
    worst = max(lines[1:], key=lambda line: line[0])
    routes = [
        (route, by)
        for line in lines[1:]
        for by, reach in zip(ORDERS, line[2:], strict=True)
        if reach is not None
        for route in (reach.low, reach.high)
        if route is not None
    ]
    proven = 100 * sum(route.proven for route, _ in routes) / max(1, len(routes))
    gaps = max(gap(route, by) for route, by in routes)
    whole = solved == parts
    met = whole and promised is not None and total <= promised and proven >= PROVEN and gaps <= GAP
    verdict = "" if promised is None else "met" if met else "**missed**"
    return (
        f"| {joints} | {seed} | {solved} of {parts}{'' if whole else ' (stopped)'} | {total:.3f} | "
        f"{worst[0]:.3f} ({worst[1]}) | {proven:.1f} % | {gaps:.1f} % | {promised or ''} | {verdict} |"
    )


def edit() -> Iterator[str]:
    """Table of the time to answer again after one fact of a 150-joint record has changed."""
    yield "| joints | edits | median [s] | worst [s] | promised: median [s] | |"
    yield "| ---: | ---: | ---: | ---: | ---: | --- |"
    record = realistic_record(150, 0)
    keeper = Keeper(budget_s=2.0)
    keeper.update(fold_log(record))
    times = []
    for changed in edited_records(record, EDITS):
        start = time.process_time()
        keeper.update(fold_log(changed))
        times.append(time.process_time() - start)
    verdict = "met" if median(times) <= 0.02 else "**missed**"
    yield f"| 150 | {len(times)} | {median(times):.4f} | {max(times):.3f} | 0.02 | {verdict} |"


def edited_records(record: Record, count: int) -> Iterator[Record]:
    """The record with one more fact changed each time, from a fixed seed: a cover, a tool or a time."""
    rng = random.Random(7)
    for _ in range(count):
        tree = record.model_dump(mode="json", by_alias=True, exclude_defaults=True)
        way = rng.choice(list(tree["joints"].values()))["ways"][0]
        kind = rng.choice(("cover", "tool", "time"))
        if kind == "cover":
            way["under"] = way.get("under", [])[:-1] or [rng.choice(list(record.parts)[1:])]
        elif kind == "tool":
            way["tools"] = [rng.choice(list(record.tools))]
        else:
            way["time"] = f"{rng.randint(1, 30)} s"
        record = Record.model_validate({"format": record.format, **tree})
        yield record


def rivals() -> Iterator[str]:
    """Table of the exact search, CP-SAT and the greedy route."""
    from rivals import rows

    return rows()


PARTS: dict[str, Callable[[], Iterator[str]]] = {"sizes": sizes, "tied": tied, "edit": edit, "rivals": rivals}


def machine() -> str:
    """The machine in general words."""
    load = os.getloadavg()[0] if hasattr(os, "getloadavg") else 0.0
    busy = f", {load:.1f} other processes running" if load >= 0.5 else ""
    return (
        f"{platform.system()} {platform.machine()}, {os.cpu_count()} cores, Python {platform.python_version()}, "
        f"{time.strftime('%B %Y')}{busy}"
    )


def write(part: str, lines: list[str]) -> None:
    """Put a table between its marks on the page."""
    text = PAGE.read_text("utf-8")
    begin, end = f"<!-- table: {part} -->", f"<!-- end: {part} -->"
    before, after = text.split(begin)[0], text.split(end)[1]
    PAGE.write_text(f"{before}{begin}\n" + "\n".join(lines) + f"\n{end}{after}", "utf-8")


@click.command()
@click.option("--part", type=click.Choice([*PARTS, "all"]), default="all", help="What to measure.")
def main(part: str) -> None:
    """Measure, print and write the tables."""
    for name, table in PARTS.items():
        if part not in (name, "all"):
            continue
        lines = [f"Measured on {machine()}.", ""]
        for line in table():
            click.echo(line)
            lines.append(line)
        write(name, lines)


if __name__ == "__main__":
    main()
